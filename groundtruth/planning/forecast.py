"""How sure the ground per gear turn will be, before anything is driven.

Given the noise parameters the posterior variance of the ground covered does not depend on what the
phone will report, only on when it reports; so the measurement model itself gives the forecast,
averaged over the phones of a kind and over what the measurement will believe of each. The errors of
several passes are added up with their covariance:

    u²(L)/L² = 1ᵀC1/(n·D)²,  C_pq = [p = q]·(var D + ends + D²·u²(N)/N² + D²·τ²) + shared_pq

shared: the slow wander that spans passes, the Doppler bias of the day, slope and weave; N turns
counted, τ the spread between passes. The interval is that of the pooling, which does not know τ,
averaged over how much the figures may scatter.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ..core.assumptions import SPREAD_PRIOR, TAPE_HALF_WIDTH_M
from ..core.errors import InputError
from ..core.measured import rectangular_std, triangular_std
from ..core.uncertainty import UncertaintySource
from ..estimator import EDGE_STD_S, WEAVE, Stretch, make_stretch
from ..estimator.batch import batch_of
from ..estimator.doppler import working_speeds
from ..estimator.ground_factors import UNKNOWN_SLOPE
from ..estimator.influence import covariance_between_passes, influences
from ..estimator.marginal_likelihood import BIAS_PRECISION, evaluate
from ..estimator.priors import PARAMETERS, PHONE, SURVEY, with_timed_turns
from ..passes.matching import EACH_TURN_STD
from ..stats.end_covariance import end_covariance
from ..stats.random_effects import fit_random_effects
from .design import RAMP_S, Design
from .expected_posterior import fisher_information, learnt
from .phone_kinds import NoiseEnsemble

Array = NDArray[np.float64]

COUNT_STD: Final = {
    "whole": triangular_std(1.0),
    "tenth": triangular_std(0.1),
    "each": EACH_TURN_STD,
}
"""Counting error of one pass, turns."""
WRITTEN_STD_S = float(np.hypot(1.0, rectangular_std(0.5)))
"""An instant written on the move: reacting and reading within a second or so (judgement)."""
ROLLING_STD_M = 4.0
"""Where a pass found in the track ends when the seeder is lifted on the move, rms, m."""
MOST_PASSES = 60
SCATTER_LEVELS = (1 / 6, 1 / 2, 5 / 6)


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecast:
    """Relative standard uncertainty and half-width of the 95 % interval for ``passes`` passes.

    ``shares`` are parts of the variance by source; ``half_width_80`` the half-width with a lucky
    and an unlucky phone of its kind (10 % and 90 % of them lie below).
    """

    passes: int
    std: float
    half_width: float
    half_width_80: tuple[float, float]
    shares: dict[UncertaintySource, float]


class Forecaster:
    """Forecasts for any number of passes of one design with one phone."""

    def __init__(self, design: Design, noise: NoiseEnsemble) -> None:
        self.design, self.noise = design, noise
        self._prior = SURVEY if noise.centimetre else PHONE
        if design.counting == "each":
            self._prior = with_timed_turns(self._prior)
            self.noise = _driven_by_turns(noise)
        (self._stretch,) = working_speeds(
            [ideal_stretch(design, noise.rate_hz, noise.held_share)], doppler=noise.doppler
        )
        self._batch = batch_of([self._stretch], doppler=noise.doppler)
        self._information = fisher_information(
            self._stretch,
            np.exp(np.log(self.noise.values) @ noise.weight),
            across=self._prior.across,
            doppler=noise.doppler,
        )

    def position_covariance(self, passes: int, *, known: bool = False) -> tuple[Array, Array]:
        """Covariance of the ground covered (passes, passes), and variance of the mean of the
        passes by member of the ensemble (members,), both from the positions alone. [m²]

        With ``known`` noise parameters nothing has to be learnt from the passes.
        """
        noise, doppler = self.noise, self.noise.doppler
        if not known:
            noise = learnt(noise, self._information, self._prior, passes)
        moments = evaluate([self._batch], noise.values, doppler=doppler)
        mean = np.exp(np.log(noise.values) @ noise.weight)
        influence = influences([self._stretch], mean, doppler=doppler)[0]
        period = self.design.pass_s + self.design.between_s
        stretches, moved = [], []
        for k in range(passes):
            sign = -1 if k % 2 and not self.design.one_way else 1
            stretches.append(_moved(self._stretch, k * period, sign))
            moved.append(replace(influence, time_s=influence.time_s + k * period))
        covariance = np.zeros((passes, passes))
        by_member = moments.var[0] / passes
        if passes > 1:
            covariance += covariance_between_passes(stretches, moved, noise.values, noise.weight)
            by_member = by_member + covariance.sum() / passes**2
        if doppler:
            per_bias = moments.per_bias[0]
            information = 1 / moments.bias_var - BIAS_PRECISION
            common = per_bias**2 / (passes * information + BIAS_PRECISION)
            covariance += float(common @ noise.weight)
            by_member = by_member + common
        covariance[np.diag_indices(passes)] += float(moments.var[0] @ noise.weight)
        return covariance, by_member

    def after(self, passes: int) -> Forecast:
        """The forecast for a number of passes.

        Raises
        ------
        InputError : no pass, or more than MOST_PASSES.
        """
        if not 1 <= passes <= MOST_PASSES:
            raise InputError(f"{passes} passes; plans are made for 1 to {MOST_PASSES}")
        design, length = self.design, self.design.bed_length_m
        position, by_member = self.position_covariance(passes)
        sources = {UncertaintySource.POSITION: position / length**2}
        ends = _ends(design, passes)
        if ends.any():
            sources[UncertaintySource.ENDS] = ends / length**2
        sources |= _counting_and_shape(design, passes)
        # the draws of one phone stand a whole ensemble apart
        phones = by_member.reshape(-1, len(self.noise.weight)).mean(axis=0)
        low, high = _weighted_quantiles(phones / length**2, self.noise.weight, (0.1, 0.9))
        return _forecast(sources, design.spread, position_variance=(low, high))


def taped_forecast(design: Design, passes: int) -> Forecast:
    """The forecast where every counted bed is measured with a tape instead."""
    return fixed_length_forecast(design, passes, rectangular_std(TAPE_HALF_WIDTH_M))


def fixed_length_forecast(design: Design, passes: int, length_std_m: float) -> Forecast:
    """The forecast for lengths that are known to ``length_std_m`` each."""
    relative = (length_std_m / design.bed_length_m) ** 2
    sources = {UncertaintySource.TAPED: relative * np.eye(passes)}
    counting = _counting_and_shape(design, passes)
    sources[UncertaintySource.COUNTING] = counting[UncertaintySource.COUNTING]
    return _forecast(sources, design.spread)


def _forecast(
    measuring: dict[UncertaintySource, Array],
    spread: float,
    position_variance: tuple[float, float] | None = None,
) -> Forecast:
    """The forecast from relative covariances (passes, passes) by source.

    ``position_variance`` is that of the mean with a lucky and with an unlucky phone.
    """
    total_covariance = np.sum(list(measuring.values()), axis=0)
    passes = len(total_covariance)
    std, half = _pooled(total_covariance, spread)
    sources = measuring | {UncertaintySource.PASSES: spread**2 * np.eye(passes)}
    variance = {s: float(c.sum()) / passes**2 for s, c in sources.items()}
    total = sum(variance.values())
    low = high = half
    if position_variance is not None:
        rest = total - variance[UncertaintySource.POSITION]
        low, high = (half * float(np.sqrt((v + rest) / total)) for v in position_variance)
    return Forecast(
        passes=passes,
        std=std,
        half_width=half,
        half_width_80=(low, high),
        shares={s: v / total for s, v in variance.items()},
    )


def ideal_stretch(design: Design, rate_hz: float, held_share: float = 0.0) -> Stretch:
    """One pass as it would be recorded without any error: the instants are what matters.

    ``held_share`` of the fixes while standing are left out, evenly.
    """
    duration, step = design.pass_s, 1 / rate_hz
    stands = design.ends == "stand"
    lead = design.stand_s if stands else 0.0
    time = np.arange(-lead, duration + lead + step / 2, step)
    fresh = np.floor((1 - held_share) * np.arange(1, len(time) + 1))
    fresh = np.diff(fresh, prepend=0.0) > 0
    time = time[((time >= 0) & (time <= duration)) | fresh]
    ramp = min(RAMP_S, duration / 3) if stands else 0.0
    clock = np.clip(time, 0.0, duration)
    share = np.ones_like(time)
    if stands:  # the speed rises evenly at the start and falls so at the end
        up = np.minimum(clock, ramp) ** 2 / (2 * ramp) + np.maximum(clock - ramp, 0.0)
        since_end = np.clip(clock - (duration - ramp), 0.0, None)
        clock = up - since_end**2 / (2 * ramp)
        share = np.clip(np.minimum(time, duration - time) / ramp, 0.0, 1.0)
    along = design.speed_m_s * clock
    return make_stretch(
        time,
        # standing fixes differ by less than matters, or they would pass for frozen ones
        along + 1e-7 * np.arange(len(time)),
        np.zeros_like(time),
        design.speed_m_s * share,
        stops=((-lead - 60.0, 0.0), (duration, duration + lead + 60.0)) if stands else (),
        start_s=0.0,
        end_s=duration,
        edge_std_s=EDGE_STD_S,
    )


def _driven_by_turns(noise: NoiseEnsemble) -> NoiseEnsemble:
    """Timed turns follow the speed; what is left of its wander is the wheel's slip."""
    median = np.exp(with_timed_turns(PHONE).log_median)
    values = noise.values.copy()
    for name in ("drive", "drive_s"):
        values[PARAMETERS.index(name)] = median[PARAMETERS.index(name)]
    return replace(noise, values=values)


def _moved(stretch: Stretch, by_s: float, sign: int) -> Stretch:
    axis = stretch.axis if sign > 0 else stretch.axis.opposite
    return replace(stretch, time_s=stretch.time_s + by_s, axis=axis)


def _ends(design: Design, passes: int) -> Array:
    """Covariance of the ground covered from not knowing where the passes end. [m²]"""
    both = np.ones((passes, 2))
    if design.ends == "rolling":
        return end_covariance(ROLLING_STD_M * both, both > 0)
    if design.ends == "instants":
        return end_covariance(design.speed_m_s * WRITTEN_STD_S * both, both < 0)
    return np.zeros((passes, passes))


def _counting_and_shape(design: Design, passes: int) -> dict[UncertaintySource, Array]:
    turns = design.bed_length_m / design.ground_per_turn_m
    counting = (COUNT_STD[design.counting] / turns) ** 2
    common = np.ones((passes, passes))
    return {
        UncertaintySource.COUNTING: counting * np.eye(passes),
        UncertaintySource.SLOPE: UNKNOWN_SLOPE.std**2 * common,
        UncertaintySource.WINDING: WEAVE.std**2 * common,
    }


def _pooled(measuring: Array, spread: float) -> tuple[float, float]:
    """Relative standard uncertainty and 95 % half-width that the pooling would state.

    ``measuring`` (n, n) is the relative covariance of the measuring errors. Days of little, usual
    and much scatter are averaged (medians of thirds of its chi-square distribution): along every
    principal axis of the errors about the mean the figures lie as far out as they do on average,
    times the day's scale.
    """
    from scipy.special import gammaincinv

    n = len(measuring)
    about_mean = np.eye(n) - 1 / n
    size, axis = np.linalg.eigh(about_mean @ measuring @ about_mean)
    usual = about_mean @ (axis @ np.sqrt(np.maximum(size, 0.0) + spread**2))
    freedom = max(n - 1, 1) / 2
    stds, halves = [], []
    for part in SCATTER_LEVELS:
        figures = usual * np.sqrt(gammaincinv(freedom, part) / freedom)
        effects = fit_random_effects(figures, measuring, prior_scale=SPREAD_PRIOR)
        mixture = effects.contrast(np.ones(1))
        low, high = mixture.interval()
        stds.append(mixture.moments().std)
        halves.append((high - low) / 2)
    return float(np.sqrt(np.mean(np.square(stds)))), float(np.sqrt(np.mean(np.square(halves))))


def _weighted_quantiles(values: Array, weight: Array, levels: Sequence[float]) -> list[float]:
    order = np.argsort(values)
    reached = np.cumsum(weight[order]) - weight[order] / 2
    return [float(np.interp(level, reached, values[order])) for level in levels]
