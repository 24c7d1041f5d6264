"""Where a pass begins and ends: did the tractor stand there, and when did it move off?

Near an end the track falls into three parts: free motion (turning, lining up), then standing or
lining up on the move, then the bed, driven straight at the working speed. For every pair of
instants (on the line from a, in work from b) the likelihood of the positions is computed: along
the bed

    u(t) = c + v·f(t − b) + e(t)

with f a ramp after standing (0, x²/2R, x − R/2 for x < 0, < R, ≥ R) or, on the move, a line that
may be flatter before b; across it c' + d·max(t − b, 0) with a small slope. c and c' are free, v
has the run's own speed as prior, e is the wander of the phone. The points before a are free
motion. With the points in order from the inside out, one Cholesky factor serves every a (its
leading blocks are the factors), and one set of cumulative sums every (a, b), so the search costs
O(points × instants). Bayes' rule gives the weights (normal linear model with known variance:
Gelman et al., *Bayesian Data Analysis*, 3rd ed., 14.2, from memory). A pass that ends is a pass
that begins, seen backwards in time.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..core.plane import Axis
from .position_error import Wander
from .resampling import Points

Array = NDArray[np.float64]

RAMPS_S = np.array([0.5, 2.0, 4.0, 7.0, 11.0])
"""Durations of speeding up that are tried; a smoothing phone's lag lengthens them."""
_LINE_UP_RAMP = 2  # index of the ramp from lining up to the working speed
LINE_UP_SHARES = np.array([0.65, 0.85, 1.0])
"""Speeds of lining up that are tried, as shares of the working speed."""
LINE_UP_M = (1.0, 9.0)
"""A seeder dropped on the move goes down this far after the tractor is on the line (judgement)."""
PLACE_M, PLACE_STD_M = 5.5, 5.0
"""How far inside the rough end the true one lies, and how surely (seen on simulated days)."""
SHORTEST_STAND_S = 2.0
FREE_M = 3.3
"""How far free motion keeps its velocity: turns of 3-5 m radius."""
PAUSE_S, PAUSE_FIXES = 6.0, 3
"""Repeated positions so near in time belong to one pause; so many of them prove none."""
CAUTION = 0.5
"""The share of the evidence that is believed, see `log_odds_of_stand`."""
_DRIVE = ((0.36, 12.0), (0.3, 3.0))
"""How far the tractor strays from steady speed (m for each m/s of speed, over s): slow changes of
speed, and ramps that are not even."""
_FRESH_NATS = 0.5  # on phones that freeze, a position that does not repeat against standing
_FROZEN_NATS = 3.0  # a repeated position speaks this much against moving
_LOG_2PI = float(np.log(2 * np.pi))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Evidence:
    """What the points around one end say. Times run inwards (mirrored for the end of a pass).

    ``stand`` (a, ramps, b) and ``rolling`` (a, shares, b) are log-likelihoods with prior; ``a_s``
    (a,) the instants of the points from the inside out, ``b_s`` (b,) instants of moving off or of
    the drop.
    """

    stand: Array
    rolling: Array
    a_s: Array
    b_s: Array
    speed_m_s: float
    log_stand: Array  # evidence for standing by ramp, (ramps,)
    log_rolling: float  # evidence for rolling on

    def by_instant(self) -> Array:
        """Weight of each instant of moving off or of the drop, (b,)."""
        top = max(self.stand.max(), self.rolling.max())
        weight = np.exp(CAUTION * (self.stand - top)).sum(axis=(0, 1)) / self.stand.shape[1]
        weight += np.exp(CAUTION * (self.rolling - top)).sum(axis=(0, 1)) / self.rolling.shape[1]
        return np.asarray(weight / weight.sum())

    def favouring(self, log_weight: Array) -> Evidence:
        """The evidence with a further weight on each instant ``b_s``, (b,)."""
        return _summed(
            replace(self, stand=self.stand + log_weight, rolling=self.rolling + log_weight)
        )


def weigh(
    points: Points,
    axis: Axis,
    speed_m_s: float,
    wander: Wander,
    speed_error: Wander | None,
    rough_s: float,
    inwards_m: float,
    *,
    recorded_on_bed: bool = False,
) -> Evidence | None:
    """Evidence from points in order of time, the pass being at the end of the window.

    None where the window is too short to tell anything.

    The rough search has put the end at ``rough_s``; it is looked for ``inwards_m`` further in,
    give or take `PLACE_STD_M`. ``recorded_on_bed`` says that the recording begins about there, so
    that it holds little free motion if any.
    """
    order = np.arange(len(points.time_s))[::-1]
    time = points.time_s[order]
    along, across = axis.along(*points.xy_m)[order], axis.across(*points.xy_m)[order]
    n = len(time)
    step = float(np.median(-np.diff(time)))
    offset = time - time[0]

    noise = wander.covariance(offset[:, None] - offset)
    frozen = points.frozen[order]
    # a repeated position tells nothing new about the place
    noise[np.diag_indices(n)] += np.where(points.jump[order] | frozen, 1e4, 1e-4)
    apart = np.abs(offset[:, None] - offset)
    drive = sum(
        (size * speed_m_s) ** 2 * (1 + apart / time_s) * np.exp(-apart / time_s)
        for size, time_s in _DRIVE
    )
    factor_u = np.linalg.cholesky(noise + drive)
    factor_w = np.linalg.cholesky(noise)
    log_size = np.cumsum(np.log(np.diag(factor_u)) + np.log(np.diag(factor_w)))

    spacing = max(0.5, min(step, 1.0))
    early = rough_s - 15.0 - 8.0 / speed_m_s
    b_s = np.arange(max(time[-1], early), time[0] - 3.0, spacing)
    if not len(b_s):
        return None
    late = time[:, None] - b_s  # (n, b)
    on_line = b_s - time[:, None]  # how long on the line before b
    gone = np.maximum(late, 0.0)
    size = RAMPS_S[:, None]
    ramp = gone[:, None, :]
    ramp = np.where(ramp < size, ramp**2 / (2 * size), ramp - size / 2)  # (n, ramps, b)
    share = LINE_UP_SHARES[:, None]
    lined = share * late[:, None, :] + (1 - share) * ramp[:, _LINE_UP_RAMP : _LINE_UP_RAMP + 1]
    shapes = np.concatenate([ramp, lined], axis=1)
    u = _fit(
        np.linalg.inv(factor_u),
        along - along[0],
        shapes.reshape(n, -1),
        speed_m_s,
        0.15 * speed_m_s,
    ).reshape(shapes.shape)
    straight = np.concatenate([gone, offset[:, None]], axis=1)
    w = _fit(np.linalg.inv(factor_w), across - across[0], straight, 0.0, 0.15 * speed_m_s)
    further = np.append(_free_motion(noise, time, along, across, speed_m_s), 0.0)[1:]
    base = further - log_size - _LOG_2PI * np.arange(1, n + 1)
    base += np.append(np.cumsum(_paused(frozen, time)[::-1])[::-1], 0.0)[1:]
    # a repeated position speaks against moving, on the line more than anywhere
    base += np.cumsum(np.where(frozen, 0.5 - 1.0, 0.0)) * _FROZEN_NATS
    fresh = -_FRESH_NATS if wander.freezes else 0.0
    while_standing = np.where(frozen, _FROZEN_NATS, fresh)[:, None]
    excused = np.cumsum(np.where(late <= 0, while_standing, 0.0), axis=0)

    place = np.interp(-b_s, -time, along) - np.interp(-rough_s, -time, along) - inwards_m
    base_b = -np.minimum(0.5 * (place / PLACE_STD_M) ** 2, 8.0)
    if recorded_on_bed:
        base = base - np.minimum((time - time[-1]) / 3.0, 8.0)
    stand = base_b + u[:, : len(RAMPS_S)] + (w[:, :-1] + base[:, None] + excused)[:, None, :]
    rolling = base_b + u[:, len(RAMPS_S) :] + (w[:, -1] + base)[:, None, None]
    if speed_error is not None:
        slope = np.clip(gone[:, None, :] / size, 0, 1)
        lined = np.where(late[:, None, :] >= 0, 1.0, LINE_UP_SHARES[:, None])
        shares = np.concatenate([slope, lined], axis=1)
        spoken = _reported(points.speed_m_s[order], time, shares, speed_m_s, speed_error)
        stand = stand + spoken[:, : len(RAMPS_S)]
        rolling = rolling + spoken[:, len(RAMPS_S) :]
    deep = late[0] > 2.0  # some of the bed must lie within the window
    stand = _prior(stand, (on_line >= SHORTEST_STAND_S - 1e-9) & deep)
    reach = speed_m_s * LINE_UP_SHARES[:, None] * on_line[:, None, :]
    slack = 0.5 * speed_m_s * step
    possible = (reach >= LINE_UP_M[0] - slack) & (reach <= LINE_UP_M[1] + slack) & deep
    rolling = _prior(rolling, possible)
    if not (np.isfinite(stand).any() and np.isfinite(rolling).any()):
        return None
    return _summed(
        Evidence(
            stand=stand,
            rolling=rolling,
            a_s=time,
            b_s=b_s,
            speed_m_s=speed_m_s,
            log_stand=np.zeros(len(RAMPS_S)),
            log_rolling=0.0,
        )
    )


def _summed(evidence: Evidence) -> Evidence:
    """The evidence with its sums taken anew."""
    return replace(
        evidence,
        log_stand=log_sum(np.moveaxis(evidence.stand, 1, 0).reshape(len(RAMPS_S), -1)),
        log_rolling=float(log_sum(evidence.rolling.reshape(1, -1))[0]),
    )


def _prior(log_likelihood: Array, possible: NDArray[np.bool_]) -> Array:
    """Even weight on what is possible; the middle axis has its weight shared out too."""
    if possible.ndim == 2:
        possible = np.broadcast_to(possible[:, None, :], log_likelihood.shape)
        count = possible[:, 0, :].sum()
    else:
        count = possible.sum()
    return np.where(possible, log_likelihood - np.log(max(int(count), 1)), -np.inf)


def _fit(whitener: Array, y: Array, columns: Array, prior: float, prior_std: float) -> Array:
    """Log-likelihood of the first k points for every k and column, without the noise's own part.

    y = c + v·column, c free, v normal about ``prior``; shapes (n, n), (n,), (n, m) → (n, m).
    """
    one = whitener.sum(axis=1)
    white, target = whitener @ columns, whitener @ y
    precision = 1 / prior_std**2
    a11 = np.cumsum(one**2)[:, None]
    a12 = np.cumsum(one[:, None] * white, axis=0)
    a22 = np.cumsum(white**2, axis=0) + precision
    b1 = np.cumsum(one * target)[:, None]
    b2 = np.cumsum(white * target[:, None], axis=0) + prior * precision
    yy = np.cumsum(target**2)[:, None] + prior**2 * precision
    determinant = np.maximum(a11 * a22 - a12**2, 1e-300)
    left = yy - (a22 * b1**2 - 2 * a12 * b1 * b2 + a11 * b2**2) / determinant
    return np.asarray(-0.5 * left - 0.5 * np.log(determinant / precision))


def _free_motion(noise: Array, time: Array, along: Array, across: Array, speed: float) -> Array:
    """Log-likelihood of the points from the k-th outwards as free motion, (n,).

    Each coordinate's velocity is a Gaussian process of 0.7 times the working speed with a Matérn
    covariance of order 3/2 over `FREE_M`, so it changes smoothly; the trapezoidal rule integrates
    it from the outermost point on.
    """
    since = (time - time[-1])[::-1]  # outermost first
    apart = np.abs(since[:, None] - since) / (FREE_M / speed)
    velocity = (0.7 * speed) ** 2 * (1 + apart) * np.exp(-apart)
    half = np.diff(since) / 2
    sums = np.zeros_like(velocity)
    sums[1:, :-1] += np.tri(len(half)) * half
    sums[1:, 1:] += np.tri(len(half)) * half
    moved = sums @ velocity @ sums.T
    factor = np.linalg.cholesky(noise[::-1, ::-1] + moved)
    whitener = np.linalg.inv(factor)
    one = whitener.sum(axis=1)
    weight = np.cumsum(one**2)
    total = -2 * np.cumsum(np.log(np.diag(factor))) - np.log(weight)
    for series in (along, across):
        target = whitener @ (series[::-1] - series[-1])
        total -= 0.5 * (np.cumsum(target**2) - np.cumsum(one * target) ** 2 / weight)
    total -= _LOG_2PI * np.arange(1, len(time) + 1)
    return np.asarray(total[::-1])


def _paused(frozen: NDArray[np.bool_], time: Array) -> Array:
    """What each repeated position speaks for a pause in free motion, (n,).

    The first few of a pause say nothing, for pauses are rare; the others what they say for standing
    before the bed.
    """
    credit = np.zeros(len(frozen))
    since, last = 0, np.inf
    for k in np.flatnonzero(frozen).tolist():
        since = since + 1 if abs(time[k] - last) < PAUSE_S else 1
        last = time[k]
        credit[k] = 0.5 * _FROZEN_NATS if since > PAUSE_FIXES else 0.0
    return credit


def _reported(speed: Array, time: Array, shares: Array, working: float, error: Wander) -> Array:
    """Log-likelihood of the reported speeds when the first k points are in order, for every k.

    ``shares`` (n, shapes, b) are the speeds as shares of the working speed, whose own doubt is
    integrated out. A reported speed is the length of a disturbed velocity: its mean is near
    √(v² + πs²/2) (Rice distribution; exact at rest). In free motion the speed is a Gaussian process
    about 0.8 of the working speed.
    """
    n = len(time)
    known = np.isfinite(speed)
    apart = np.abs(time[:, None] - time)
    noise = error.covariance(apart)
    noise[np.diag_indices(n)] += np.where(known, 1e-4, 1e4)
    s2 = float(error.variance_m2.sum())
    factor = np.linalg.cholesky(noise)
    columns = shares.reshape(n, -1)
    expected = np.sqrt((working * columns) ** 2 + np.pi / 2 * s2)
    target = np.where(known[:, None], speed[:, None], expected) - expected
    white = np.linalg.inv(factor) @ np.stack([columns, target])
    precision = 1 / (0.15 * working) ** 2
    a22 = np.cumsum(white[0] ** 2, axis=0) + precision
    b2 = np.cumsum(white[0] * white[1], axis=0)
    left = np.cumsum(white[1] ** 2, axis=0) - b2**2 / a22
    size = np.cumsum(np.log(np.diag(factor)))[:, None]
    in_order = -0.5 * left - 0.5 * np.log(a22 / precision) - size

    lag = apart[::-1, ::-1] / (FREE_M / working)
    free = noise[::-1, ::-1] + (0.35 * working) ** 2 * (1 + lag) * np.exp(-lag)
    factor = np.linalg.cholesky(free)
    usual = np.sqrt((0.8 * working) ** 2 + np.pi / 2 * s2)
    target = np.where(known, speed, usual)[::-1] - usual
    white = np.linalg.solve(factor, target)
    further = np.cumsum(-0.5 * white**2 - np.log(np.diag(factor)))[::-1]
    further = np.append(further, 0.0)[1:]
    return np.asarray((in_order + further[:, None]).reshape(shares.shape))


def log_sum(values: Array) -> Array:
    """Logarithm of the sum of exponentials along the last axis."""
    top = values.max(axis=-1)
    top = np.where(np.isfinite(top), top, 0.0)
    with np.errstate(divide="ignore"):
        return np.asarray(top + np.log(np.exp(values - top[..., None]).sum(axis=-1)))
