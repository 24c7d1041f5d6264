"""Where a pass begins and ends: did the tractor stand there, and when did it move off?

Near an end the track falls into three parts: free motion (turning, lining up), then standing or
lining up on the move, then the bed, driven straight at the working speed. For every pair of
instants (on the line from a, in work from b) the likelihood of the fixes is computed: along the
bed

    u(t) = c + v·f(t − b) + e(t)

with f a ramp after standing (0, x²/2R, x − R/2 for x < 0, < R, ≥ R) or, on the move, a line that
may be flatter before b; across it c' + d·max(t − b, 0) with a small slope. c and c' are free, v
has the leg's own speed as prior, e is the position error. The fixes before a are free motion.
With the fixes in order from the inside out the search costs O(fixes × instants), see `end_terms`.
Bayes' rule gives the weights. A pass that ends is a pass that begins, seen backwards in time.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ..core.correlation import matern32_correlation
from ..core.plane import Axis
from .end_terms import (
    LOG_2PI,
    SPEED_DOUBT,
    further_out,
    log_likelihood_of_free_motion,
    log_likelihood_of_line,
    log_likelihood_of_repeats,
    log_likelihood_of_repeats_in_standing,
    log_likelihood_of_speeds,
)
from .position_error import ErrorCovariance
from .resampling import PlaneTrack

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

RAMPS_S = np.array([0.5, 2.0, 4.0, 7.0, 11.0])
"""Durations of speeding up that are tried; a smoothing phone's lag lengthens them."""
_LINE_UP_RAMP = 2  # index of the ramp from lining up to the working speed
LINE_UP_SHARES = np.array([0.65, 0.85, 1.0])
"""Speeds of lining up that are tried, as shares of the working speed."""
LINE_UP_M = (1.0, 9.0)
"""A seeder dropped on the move goes down this far after the tractor is on the line (judgement)."""
INSIDE_M, INSIDE_STD_M = 5.5, 5.0
"""How far inside the rough end the true one lies, and how surely (seen on simulated days)."""
SHORTEST_STAND_S = 2.0
CAUTION = 0.5
"""The share of the evidence that is believed, see `log_odds_of_stand`."""
_UNEVEN_DRIVING = ((0.36, 12.0), (0.3, 3.0))
"""How far the tractor strays from steady speed (m for each m/s of speed, over s): slow changes of
speed, and ramps that are not even."""


@dataclass(frozen=True, slots=True, eq=False)
class FiniteLogLikelihood:
    """An array of log-likelihoods, kept without its cells of −∞, which are most."""

    where: Flags
    values: Array

    @classmethod
    def of(cls, log_likelihood: Array) -> FiniteLogLikelihood:
        """The finite cells of an array."""
        where = np.isfinite(log_likelihood)
        return cls(where, log_likelihood[where])

    def weighted(self, log_weight: Array) -> Array:
        """The whole array with weights added along its last axis."""
        whole = np.full(self.where.shape, -np.inf)
        whole[self.where] = self.values
        return np.asarray(whole + log_weight)


@dataclass(frozen=True, kw_only=True, eq=False)
class Evidence:
    """What the fixes around one end say. Times run inwards (mirrored for the end of a pass).

    ``a_s`` (a,) are the instants of the fixes from the inside out, ``b_s`` (b,) instants of moving
    off or of the drop; ``unweighted_stand`` and ``unweighted_rolling`` what the fixes around this
    end say alone, ``log_weight`` (b,) what the other passes of the day say about its instants.
    """

    unweighted_stand: FiniteLogLikelihood
    unweighted_rolling: FiniteLogLikelihood
    a_s: Array
    b_s: Array
    speed_m_s: float
    log_weight: Array

    @property
    def stand(self) -> Array:
        """Log-likelihood of standing, with prior. (a, ramps, b)"""
        return self.unweighted_stand.weighted(self.log_weight)

    @property
    def rolling(self) -> Array:
        """Log-likelihood of rolling on, with prior. (a, shares, b)"""
        return self.unweighted_rolling.weighted(self.log_weight)

    @cached_property
    def log_stand(self) -> Array:
        """Log marginal likelihood of standing, by ramp. (ramps,)"""
        from scipy.special import logsumexp

        return np.asarray(logsumexp(self.stand, axis=(0, 2)))

    @cached_property
    def log_rolling(self) -> float:
        """Log marginal likelihood of rolling on."""
        from scipy.special import logsumexp

        return float(logsumexp(self.rolling))

    def by_instant(self) -> Array:
        """Weight of each instant of moving off or of the drop, (b,)."""
        stand, rolling = self.stand, self.rolling
        top = max(stand.max(), rolling.max())
        weight = np.exp(CAUTION * (stand - top)).sum(axis=(0, 1)) / stand.shape[1]
        weight += np.exp(CAUTION * (rolling - top)).sum(axis=(0, 1)) / rolling.shape[1]
        return np.asarray(weight / weight.sum())


def end_evidence(
    fixes: PlaneTrack,
    axis: Axis,
    speed_m_s: float,
    position_error: ErrorCovariance,
    speed_error: ErrorCovariance | None,
    rough_s: float,
    inwards_m: float,
    *,
    recorded_on_bed: bool = False,
) -> Evidence | None:
    """Evidence from fixes in order of time, the pass being at the end of the window.

    None where the window is too short to tell anything.

    The rough search has put the end at ``rough_s``; it is looked for ``inwards_m`` further in,
    give or take `INSIDE_STD_M`. ``recorded_on_bed`` says that the recording begins about there, so
    that it holds little free motion if any.
    """
    fixes = fixes.taken(slice(None, None, -1))
    time, along = fixes.time_s, axis.along(*fixes.xy_m)
    b_s = _instants(time, rough_s, speed_m_s)
    if not len(b_s):
        return None
    noise = position_error.covariance(time[:, None] - time)
    # a repeated fix tells nothing new about the place
    noise[np.diag_indices(len(time))] += np.where(fixes.jump | fixes.frozen, 1e4, 1e-4)
    late = time[:, None] - b_s
    across = axis.across(*fixes.xy_m)
    ahead, beside = _on_the_bed(time, along, across, noise, late, speed_m_s)
    free = log_likelihood_of_free_motion(noise, time, along, across, speed_m_s)
    outside = further_out(free) + log_likelihood_of_repeats(fixes.frozen, time)
    if recorded_on_bed:
        outside = outside - np.minimum((time - time[-1]) / 3.0, 8.0)
    standing = log_likelihood_of_repeats_in_standing(
        fixes.frozen, late, freezes=position_error.freezes
    )
    place = np.interp(-b_s, -time, along) - np.interp(-rough_s, -time, along) - inwards_m
    ahead -= np.minimum(0.5 * (place / INSIDE_STD_M) ** 2, 8.0)
    if speed_error is not None:
        shares = _speed_shares(late)
        ahead += log_likelihood_of_speeds(fixes.speed_m_s, time, shares, speed_m_s, speed_error)
    ramps = len(RAMPS_S)
    stand = ahead[:, :ramps] + (beside[:, :-1] + outside[:, None] + standing)[:, None]
    rolling = ahead[:, ramps:] + (beside[:, -1] + outside)[:, None, None]
    may_stand, may_roll = _possible(time, late, speed_m_s)
    stand, rolling = _with_even_prior(stand, may_stand), _with_even_prior(rolling, may_roll)
    if not (np.isfinite(stand).any() and np.isfinite(rolling).any()):
        return None
    return Evidence(
        unweighted_stand=FiniteLogLikelihood.of(stand),
        unweighted_rolling=FiniteLogLikelihood.of(rolling),
        a_s=time,
        b_s=b_s,
        speed_m_s=speed_m_s,
        log_weight=np.zeros(len(b_s)),
    )


def _instants(time_s: Array, rough_s: float, speed_m_s: float) -> Array:
    """Instants of moving off or of the drop that are tried, (b,)."""
    step = float(np.median(-np.diff(time_s)))
    early = rough_s - 15.0 - 8.0 / speed_m_s
    return np.arange(max(time_s[-1], early), time_s[0] - 3.0, max(0.5, min(step, 1.0)))


def _ramp_s(late_s: Array) -> Array:
    """Seconds at the working speed that the way since moving off amounts to, (n, ramps, b)."""
    gone, size = np.maximum(late_s, 0.0)[:, None, :], RAMPS_S[:, None]
    return np.where(gone < size, gone**2 / (2 * size), gone - size / 2)


def _on_the_bed(
    time_s: Array, along_m: Array, across_m: Array, noise: Array, late_s: Array, speed_m_s: float
) -> tuple[Array, Array]:
    """Log-likelihood of the first k fixes on the bed, by the way along it and beside it.

    Along it (n, ramps and shares of lining up, b); beside it (n, b and one), the last for a line
    that is driven all along.
    """
    n, ramp = len(time_s), _ramp_s(late_s)
    share = LINE_UP_SHARES[:, None]
    lined = share * late_s[:, None, :] + (1 - share) * ramp[:, _LINE_UP_RAMP : _LINE_UP_RAMP + 1]
    shapes = np.concatenate([ramp, lined], axis=1)
    straight = np.concatenate([np.maximum(late_s, 0.0), (time_s - time_s[0])[:, None]], axis=1)
    apart = np.abs(time_s[:, None] - time_s)
    driving = sum(
        (size * speed_m_s) ** 2 * matern32_correlation(apart / lasts_s)
        for size, lasts_s in _UNEVEN_DRIVING
    )
    doubt = SPEED_DOUBT * speed_m_s
    factor = np.linalg.cholesky(noise + driving)
    ahead = log_likelihood_of_line(
        np.linalg.inv(factor), along_m - along_m[0], shapes.reshape(n, -1), speed_m_s, doubt
    ).reshape(shapes.shape)
    size = np.log(np.diag(factor))
    factor = np.linalg.cholesky(noise)
    beside = log_likelihood_of_line(
        np.linalg.inv(factor), across_m - across_m[0], straight, 0.0, doubt
    )
    size = np.cumsum(size + np.log(np.diag(factor))) + LOG_2PI * np.arange(1, n + 1)
    return ahead, beside - size[:, None]


def _speed_shares(late_s: Array) -> Array:
    """Speeds as shares of the working speed, (n, ramps and shares of lining up, b)."""
    slope = np.clip(np.maximum(late_s, 0.0)[:, None, :] / RAMPS_S[:, None], 0, 1)
    lined = np.where(late_s[:, None, :] >= 0, 1.0, LINE_UP_SHARES[:, None])
    return np.concatenate([slope, lined], axis=1)


def _possible(time_s: Array, late_s: Array, speed_m_s: float) -> tuple[Flags, Flags]:
    """Which instants can be, standing (n, b) and lining up on the move (n, shares, b).

    Some of the bed must lie within the window.
    """
    on_line = -late_s
    deep = late_s[0] > 2.0
    reach = speed_m_s * LINE_UP_SHARES[:, None] * on_line[:, None, :]
    slack = 0.5 * speed_m_s * float(np.median(-np.diff(time_s)))
    lined = (reach >= LINE_UP_M[0] - slack) & (reach <= LINE_UP_M[1] + slack)
    return (on_line >= SHORTEST_STAND_S - 1e-9) & deep, lined & deep


def _with_even_prior(log_likelihood: Array, possible: Flags) -> Array:
    """Even weight on what is possible; the middle axis has its weight shared out too."""
    if possible.ndim == 2:
        possible = np.broadcast_to(possible[:, None, :], log_likelihood.shape)
        count = possible[:, 0, :].sum()
    else:
        count = possible.sum()
    return np.where(possible, log_likelihood - np.log(max(int(count), 1)), -np.inf)
