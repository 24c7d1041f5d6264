"""Likelihood of the length of a pass on each bed: turns tell a bed of 80 m from one of 83.

length = L_j·(1 + λ) + e, with L_j what was sown of the bed on other days, λ the error of the day's
ground per turn, which all its passes share, and e how well the driver meets the ends, the counting
and what slip differs by from pass to pass. How large e is, a block's own days tell after a while.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from statistics import median

import numpy as np

from ..core.measured import Measured
from .tracker_state import DayHypotheses
from .types import Array, BlockPrior, PassObservation

END_M = 1.0
"""How well a driver meets the end of a bed, until a block's own days tell: standard deviation of
the length sown. Our choice."""
_OTHER_LENGTH = 0.02
"""Probability that a pass has another length than its bed: turned early, sown in part."""
_USUAL_SPREAD = 0.01
"""What slip usually differs by from pass to pass on one day; more than this in a run's stated
spread may be the phone's error. Our choice."""
_RESTLESS = 0.2
"""Probability of a day on which lengths scatter more than on the others. Our choice."""
_FREEDOM_BEFORE = 4.0
"""Degrees of freedom that the scatter assumed before any day counts for. Our choice."""
_MEDIAN_VARIANCE, _MAD_EFFICIENCY, _MAD_TO_STD = 1.571, 0.37, 1.4826
"""Large-sample properties of the median (π/2 of the mean's variance) and of the median absolute
deviation of normal values."""
_LEAST_SHARED = 5


class LengthLikelihood:
    """Likelihood of the lengths of one day; beds are counted from ``low``, ``count`` of them."""

    def __init__(
        self, prior: BlockPrior, observations: Sequence[PassObservation], low: int, count: int
    ) -> None:
        self.at = np.array([j - low for j in prior.lengths], dtype=np.int64)
        self.usual = np.full(count, np.nan)
        self.variance = np.zeros(count)
        for j, known in prior.lengths.items():
            self.usual[j - low], self.variance[j - low] = known.value, known.std**2
        mine = [t.length for t in observations if t.length is not None]
        self.stated_m2 = median(m.std**2 for m in mine) if mine else 0.0
        length = median(m.value for m in mine) if mine else 0.0
        free = prior.scatter_freedom
        assumed = END_M**2 + min(self.stated_m2, (_USUAL_SPREAD * length) ** 2)
        self.scatter_m2 = (_FREEDOM_BEFORE * assumed + free * prior.scatter_m2) / (
            _FREEDOM_BEFORE + free
        )
        self.unknown = (0.0, 0.0)  # mean and variance of a bed's length before it is known
        if len(self.at):
            spread = float(np.nanvar(self.usual)), float(self.variance[self.at].mean())
            self.unknown = float(np.nanmean(self.usual)), max(spread)
        shared = [t.length_scale_u**2 for t in observations if t.length is not None]
        # the lengths known carry such an error too
        self.scale_variance = 2 * median(shared) if shared else 0.0

    def levels(self) -> tuple[Array, Array]:
        """Variances of the day's lengths about the beds' [m²] and their log prior probabilities.

        One as on other days, one for a day on which slip changed from pass to pass.
        """
        if not len(self.at):
            return np.array([self.scatter_m2]), np.zeros(1)
        restless = max(4 * self.scatter_m2, END_M**2 + self.stated_m2)
        return np.array([self.scatter_m2, restless]), np.log([1 - _RESTLESS, _RESTLESS])

    def log_likelihood(self, kept: DayHypotheses, observation: PassObservation) -> Array | float:
        """Log density of the length on each bed, shape (h, J), 0 where nothing is known."""
        if observation.length is None or not len(self.at):
            return 0.0
        usual = self.usual[self.at][None, :]
        usual_density = _normal(
            observation.length.value - usual * (1 + kept.mean[:, 3][:, None]),
            self.variance[self.at] + kept.cov[:, 3, 3][:, None] * usual**2 + kept.scatter[:, None],
        )
        other_density = self._unknown(kept, observation.length.value)[:, None]
        found = np.repeat(np.log(other_density), len(self.usual), axis=1)
        found[:, self.at] = np.log(
            (1 - _OTHER_LENGTH) * usual_density + _OTHER_LENGTH * other_density
        )
        return found

    def update(self, kept: DayHypotheses, observation: PassObservation) -> None:
        """Update λ (in place) with a length, weighed by the probability that it is a usual one."""
        if observation.length is None or not len(self.at):
            return
        usual = self.usual[kept.bed]
        known = np.isfinite(usual)
        usual = np.where(known, usual, 0.0)
        variance = self.variance[kept.bed] + kept.scatter
        usual_share = (1 - _OTHER_LENGTH) * _normal(
            observation.length.value - usual * (1 + kept.mean[:, 3]),
            variance + kept.cov[:, 3, 3] * usual**2,
        )
        other_share = _OTHER_LENGTH * self._unknown(kept, observation.length.value)
        share = np.where(known, usual_share / (usual_share + other_share), 0.0)
        kept.update_length(observation.length.value, usual, variance / np.maximum(share, 1e-12))

    def _unknown(self, kept: DayHypotheses, length_m: float) -> Array:
        """Density of a length on a bed whose own is not known, shape (h,)."""
        middle, spread = self.unknown
        away = length_m - middle * (1 + kept.mean[:, 3])
        return _normal(away, spread + kept.scatter + kept.cov[:, 3, 3] * middle**2) + 1e-12


def _normal(away: Array, variance: Array) -> Array:
    return np.asarray(np.exp(-0.5 * away**2 / variance) / np.sqrt(2 * np.pi * variance))


@dataclass(slots=True)
class LengthHistory:
    """What was sown of each bed day by day, on the scale of the block's first day (m)."""

    sown: dict[int, list[float]] = field(default_factory=dict)
    residuals: list[float] = field(default_factory=list)

    def update(self, beds: Sequence[int], lengths: Sequence[Measured | None]) -> None:
        """Take in a day (in place)."""
        day = [(j, m.value) for j, m in zip(beds, lengths, strict=True) if m is not None]
        before = {j: median(v) for j, v in self.sown.items()}
        ratios = [value / before[j] for j, value in day if j in before]
        scale = median(ratios) if len(ratios) >= _LEAST_SHARED else 1.0
        if len(ratios) >= _LEAST_SHARED:
            self.residuals += [
                (value / scale - before[j]) / _widened(len(self.sown[j]))
                for j, value in day
                if j in before
            ]
        for j, value in day:
            self.sown.setdefault(j, []).append(value / scale)

    def scatter(self) -> tuple[float, float]:
        """Variance of a length from day to day [m²] and the degrees of freedom behind it."""
        if not self.residuals:
            return 0.0, 0.0
        size = _MAD_TO_STD * median(abs(r) for r in self.residuals)
        return size**2, _MAD_EFFICIENCY * len(self.residuals)

    def known(self, drawn: Mapping[int, Measured]) -> dict[int, Measured]:
        """Length of each bed: as sown, else as drawn on the grower's map.

        Headlands are straight as a rule, and beds then as long as their place in the row says. As
        far as the beds show no more than the scatter about such a line, they are drawn to it: else
        the chance errors of a few days would tell beds of one length apart (shrinkage by empirical
        Bayes; C. N. Morris 1983, J. Am. Stat. Assoc. 78:47, from memory).
        """
        variance, free = self.scatter()
        variance = (_FREEDOM_BEFORE * END_M**2 + free * variance) / (_FREEDOM_BEFORE + free)
        beds = sorted(self.sown)
        own = np.array([variance * (_widened(len(self.sown[j])) ** 2 - 1) for j in beds])
        usual = np.array([median(self.sown[j]) for j in beds])
        if len(beds) >= _LEAST_SHARED:
            at = np.array(beds, dtype=float) - float(np.mean(beds))
            line = usual.mean() + at * float(at @ usual) / float(at @ at)
            away = usual - line
            true = max(0.0, float(away @ away) / (len(beds) - 2) - float(own.mean()))
            fitted = (true + own.mean()) * (1 / len(beds) + at**2 / float(at @ at))
            usual = line + away * true / (true + own)
            own = true * own / (true + own) + fitted
        return {
            **drawn,
            **{
                j: Measured(float(m), float(v) ** 0.5)
                for j, m, v in zip(beds, usual, own, strict=True)
            },
        }


def _widened(days: int) -> float:
    """Standard deviation of a new value less the median of so many, over that of one value."""
    return float((1 + (1.0 if days < 3 else _MEDIAN_VARIANCE) / days) ** 0.5)
