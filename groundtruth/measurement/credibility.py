"""Which counts of a run can be true: each is judged by the others and by the ground covered.

With y the logarithm of the turns of unit u on pass p, and D the ground covered,

    y_pu = m_p + g_u + e_pu,    m_p = log D_p − l + a_p

g the unit's own difference, e counting and what is left between units on one pass, a the pass's
soil and the error of its length. With a small probability a count has nothing to do with the pass,
and with another one all counts of a pass have nothing to do with its ground: mixtures of a normal
and a wide distribution (Box & Tiao 1968, Biometrika 55:119, from memory). Medians start it, so that
one wrong count does not hide itself; then each count is predicted from the others of its pass.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

WRONG_COUNT, WRONG_PASS = 0.01, 0.01
"""Prior probability of a count that is typed or read wrongly, and of a pass whose ground is. Our
choice: a person who counts writes one figure in a hundred wrongly (common practice, no source)."""
WRONG_CUT_PASS = 0.2
"""The same of a pass on which the recording begins or ends. Our choice."""
LOG_RANGE = 6.0
"""A wrong count is anywhere between a twentieth and twenty times the right one."""
WRONG_SCALE = 0.25
"""Half of the wrong passes are off by about so much. Our choice."""
LEAST_SCATTER, MOST_SCATTER = 0.003, 0.03
"""Bounds of the relative scatter between units on one pass."""
LEAST_SPREAD, MOST_SPREAD = 0.01, 0.04
"""Bounds of the relative spread between passes."""
UNIT_STD = 0.05
"""Units differ by so much where too few passes tell by how much. Our choice."""
LEAST_PASSES = 3
SURE = 0.9
"""A count this probably right counts in full."""
ROUNDS = 6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Credibility:
    """How probable each count (m,) and each pass (k,) is right, and what the others say of it.

    ``predicted`` (m,) is the logarithm of the turns that the rest of the run predicts, ``std`` (m,)
    its standard deviation, the count's own error included. ``level`` is the logarithm of ground per
    turn.
    """

    count: Array
    of_pass: Array
    predicted: Array
    std: Array
    level: float


def credibility(
    log_turns: Array,
    counting_variance: Array,
    passes: NDArray[np.int64],
    units: NDArray[np.int64],
    log_ground: Array,
    ground_std: Array,
    cut: NDArray[np.bool_],
) -> Credibility:
    """Judge the counts of a run.

    Parameters
    ----------
    log_turns, counting_variance : (m,) logarithms of the turns and the variance of counting.
    passes, units : (m,) labels from 0.
    log_ground, ground_std : (k,) logarithm of the ground covered, its relative standard deviation.
    cut : (k,) whether the recording begins or ends on the pass.
    """
    model = _Model(log_turns, counting_variance, passes, units, log_ground, ground_std)
    count, of_pass = np.ones(len(log_turns)), np.ones(len(log_ground))
    wrong_pass = np.where(cut, WRONG_CUT_PASS, WRONG_PASS)
    predicted, std, level = model.round(count, of_pass, first=True)
    for number in range(ROUNDS):
        if number:
            predicted, std, level = model.round(count, of_pass, first=False)
        right = _right(log_turns - predicted, std, WRONG_COUNT, narrow=0.0)
        count = model.worst_first(right, count, np.abs(log_turns - predicted) / std)
        away, spread = model.passes_away(count, of_pass, level)
        of_pass = np.where(np.isfinite(away), _right(away, spread, wrong_pass, narrow=0.5), 1.0)
    return Credibility(count=count, of_pass=of_pass, predicted=predicted, std=std, level=level)


def _right(away: Array, std: Array, wrong: Array | float, *, narrow: float) -> Array:
    """Probability that what is ``away`` from its prediction is right, by Bayes' theorem."""
    normal = np.exp(-0.5 * np.minimum((away / std) ** 2, 1400)) / (std * np.sqrt(2 * np.pi))
    laplace = np.exp(-np.abs(away) / WRONG_SCALE) / (2 * WRONG_SCALE)
    wide = narrow * laplace + (1 - narrow) / LOG_RANGE
    return np.asarray((1 - wrong) * normal / ((1 - wrong) * normal + wrong * wide))


class _Model:
    """The run's figures, and medians and predictions of them."""

    def __init__(
        self,
        y: Array,
        counting: Array,
        passes: NDArray[np.int64],
        units: NDArray[np.int64],
        log_ground: Array,
        ground_std: Array,
    ) -> None:
        self.y, self.counting, self.passes, self.units = y, counting, passes, units
        self.log_ground, self.ground_std = log_ground, ground_std
        self.of_unit = [np.flatnonzero(units == u) for u in range(units.max() + 1)]
        self.of_pass = [np.flatnonzero(passes == p) for p in range(len(log_ground))]
        self.unit_effect = np.zeros(len(self.of_unit))
        self.scatter, self.spread = LEAST_SCATTER, LEAST_SPREAD

    def round(self, count: Array, of_pass: Array, *, first: bool) -> tuple[Array, Array, float]:
        """Unit effects, level and scatter, and from them each count predicted by the others."""
        level = self._level(self._pass_medians(count), of_pass)
        for _ in range(3 if first else 1):
            middle = self._with_ground(count, of_pass, level, first=first)
            for u, own in enumerate(self.of_unit):
                if len(own) >= LEAST_PASSES:
                    away = self.y[own] - middle[self.passes[own]]
                    self.unit_effect[u] = _median(away, count[own])
            self.unit_effect -= np.median(self.unit_effect)
            level = self._level(self._pass_medians(count), of_pass)
        self._set_scatter(count, of_pass, level)
        few = np.array([len(own) < LEAST_PASSES for own in self.of_unit])[self.units]
        variance = self.counting + self.scatter**2 + np.where(few, UNIT_STD**2, 0.0)
        predicted, std = np.empty(len(self.y)), np.empty(len(self.y))
        for own, ground in zip(self.of_pass, self.log_ground, strict=True):
            for i in own:
                others = own[own != i]
                p = self.passes[i]
                free = self.y[others] - self.unit_effect[self.units[others]]
                values = np.append(free, ground - level)
                precision = np.append(
                    count[others] / variance[others],
                    of_pass[p] / (self.spread**2 + self.ground_std[p] ** 2),
                )
                if first and len(others) > 1:
                    mean = float(np.median(values))
                else:
                    mean = float(precision @ values / max(precision.sum(), 1e-12))
                predicted[i] = mean + self.unit_effect[self.units[i]]
                std[i] = np.sqrt(variance[i] + 1 / max(precision.sum(), 1.0))
        return predicted, std, level

    def worst_first(self, right: Array, before: Array, away: Array) -> Array:
        """The probabilities, but of each pass only the count farthest ``away`` falls at a time.

        A wrong count makes those wrong that are predicted from it.
        """
        count = right.copy()
        for own in self.of_pass:
            falling = own[(right[own] < 0.5) & (before[own] >= 0.5)]
            if len(falling) > 1:
                spared = falling[falling != falling[np.argmax(away[falling])]]
                count[spared] = before[spared]
        return count

    def _pass_medians(self, count: Array) -> Array:
        free = self.y - self.unit_effect[self.units]
        return np.array(
            [_median(free[own], count[own]) if len(own) else np.nan for own in self.of_pass]
        )

    def _level(self, medians: Array, of_pass: Array) -> float:
        known = np.isfinite(medians)
        return _median((self.log_ground - medians)[known], of_pass[known])

    def _with_ground(self, count: Array, of_pass: Array, level: float, *, first: bool) -> Array:
        """The middle of each pass's counts and of what its ground says. (k,)"""
        free = self.y - self.unit_effect[self.units]
        middle = self.log_ground - level
        for p, own in enumerate(self.of_pass):
            if first and len(own) == 2:  # two units that differ: the ground decides
                middle[p] = float(np.median(np.append(free[own], middle[p])))
            elif len(own) > 1:
                middle[p] = _median(free[own], count[own])
        return middle

    def _set_scatter(self, count: Array, of_pass: Array, level: float) -> None:
        medians = self._pass_medians(count)
        away = self.y - self.unit_effect[self.units] - medians[self.passes]
        together = np.array([len(self.of_pass[p]) > 2 for p in self.passes])
        if together.sum() >= 6:
            # pass and unit medians take degrees of freedom
            units = np.mean([len(own) for own in self.of_pass if len(own) > 2])
            square = _mad(away[together]) ** 2 * units / (units - 1)
            square -= float(np.median(self.counting))
            self.scatter = float(np.sqrt(np.clip(square, LEAST_SCATTER**2, MOST_SCATTER**2)))
        ground = self.log_ground - medians - level
        known = np.isfinite(ground)
        if known.sum() >= 4:
            between = _mad(ground[known]) ** 2 - float(np.median(self.ground_std)) ** 2
            self.spread = float(np.sqrt(np.clip(between, LEAST_SPREAD**2, MOST_SPREAD**2)))
        else:
            self.spread = 0.02

    def passes_away(self, count: Array, of_pass: Array, level: float) -> tuple[Array, Array]:
        """How far the counts of each pass are from its ground, and the standard deviation (k,).

        NaN where a single count cannot tell which of the two is wrong.
        """
        medians = self._pass_medians(count)
        credible = np.array([float(count[own].sum()) if len(own) else 0.0 for own in self.of_pass])
        away = np.where(credible > 1.5, medians - (self.log_ground - level), np.nan)
        return away, np.hypot(self.spread, self.ground_std)


def _median(values: Array, weight: Array) -> float:
    """Weighted median; the plain one where all weigh alike."""
    if not len(values):
        return 0.0
    if np.allclose(weight, weight[0]):
        return float(np.median(values))
    order = np.argsort(values)
    reached = np.cumsum(weight[order]) - weight[order] / 2
    return float(np.interp(0.5 * weight.sum(), reached, values[order]))


def _mad(values: Array) -> float:
    """Robust standard deviation: 1.4826 times the median distance from the median."""
    return float(1.4826 * np.median(np.abs(values - np.median(values))))
