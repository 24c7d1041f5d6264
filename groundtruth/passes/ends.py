"""Where a pass begins and ends: did the tractor stand there, and when did it move off?

Near an end the track falls into three parts: free motion (turning, lining up), perhaps standing,
and the bed, driven straight at the working speed after a ramp. For every pair of instants
(standing from a, moving off at b) and every ramp the likelihood of the positions is computed:
along the bed

    u(t) = c + v·r(t − b) + e(t)      r(x) = 0, x²/2R, x − R/2  for x < 0, < R, ≥ R

and across it the same with a small slope, c free, v with the run's own speed as prior, e the
wander of the phone; before a each step is drawn from free motion. With the points in order from
the inside out, one Cholesky factor serves every a (its leading blocks are the factors), and one
set of cumulative sums every (a, b), so the search costs O(points × instants). Bayes' rule gives
the weights (normal linear model with known variance: Gelman et al., *Bayesian Data Analysis*,
3rd ed., 14.2, from memory). A pass that ends is a pass that begins, seen backwards in time.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .thinned import Points
from .wander import Wander

Array = NDArray[np.float64]

RAMPS_S = np.array([0.5, 2.0, 4.0, 7.0, 11.0])
"""Durations of speeding up that are tried; a smoothing phone's lag lengthens them."""
SHORTEST_STAND_S = 2.0
FREE_S = 4.0
"""How long free motion keeps its velocity: turns of 3-5 m radius at some 1 m/s."""
LINE_UP_M, LINE_UP_STD_M = 3.0, 2.0
"""A seeder dropped on the move goes down this far after the tractor is on the line (judgement)."""
_FROZEN_NATS = 3.0  # a repeated position speaks this much against moving
_LOG_2PI = float(np.log(2 * np.pi))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Evidence:
    """What the points around one end say. Times run inwards (mirrored for the end of a pass).

    ``stand`` (ramps, a, b) are log-likelihoods with prior, ``rolling`` (a,); ``a_s`` (a,) the
    instants of the points, from the inside out, ``b_s`` (b,) instants of moving off.
    """

    stand: Array
    rolling: Array
    a_s: Array
    b_s: Array
    speed_m_s: float

    @property
    def log_stand(self) -> Array:
        """Evidence for standing by ramp, (ramps,)."""
        return _log_sum(self.stand.reshape(len(self.stand), -1))

    @property
    def log_rolling(self) -> float:
        """Evidence for rolling on."""
        return float(_log_sum(self.rolling[None])[0])


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundEnd:
    """The end as found, in the times of its `Evidence`.

    ``instant_s`` is where to put the end; ``stood_s`` the standing, None when rolling.
    """

    instant_s: float
    std_m: float
    stood_s: tuple[float, float] | None
    probability_stood: float


def weigh(points: Points, axis: tuple[float, float], speed_m_s: float, wander: Wander) -> Evidence:
    """Evidence from points in order of time, the pass being at the end of the window."""
    order = np.arange(len(points.time_s))[::-1]
    time = points.time_s[order]
    x, y = axis
    along = (x * points.xy_m[0] + y * points.xy_m[1])[order]
    across = (x * points.xy_m[1] - y * points.xy_m[0])[order]
    jump = points.jump[order]
    n = len(time)
    step = float(np.median(-np.diff(time)))
    offset = time - time[0]

    noise = wander.covariance(offset[:, None] - offset)
    noise[np.diag_indices(n)] += np.where(jump, 1e4, 1e-4)
    pace = 0.02 * speed_m_s * 10.0  # slow changes of the working speed
    lag = np.abs(offset[:, None] - offset) / 10.0
    factors = [np.linalg.cholesky(noise + pace**2 * (1 + lag) * np.exp(-lag))]
    factors.append(np.linalg.cholesky(noise))
    whitener = [np.linalg.inv(factor) for factor in factors]

    b_s = np.arange(time[-1] + SHORTEST_STAND_S, time[0] - 3.0, max(0.5, min(step, 1.0)))
    late = time[:, None] - b_s
    ramp = np.maximum(late[:, None, :], 0.0)
    size = RAMPS_S[:, None]
    ramp = np.where(ramp < size, ramp**2 / (2 * size), ramp - size / 2)  # (n, ramps, b)
    shape = ramp.shape[1:]
    columns = np.concatenate([ramp.reshape(n, -1), offset[:, None]], axis=1)
    u = _fit(whitener[0], along - along[0], columns, speed_m_s, 0.12 * speed_m_s)
    straight = np.concatenate([np.maximum(late, 0.0), offset[:, None]], axis=1)
    w = _fit(whitener[1], across - across[0], straight, 0.0, 0.15 * speed_m_s)
    for factor in factors:
        u = u - np.cumsum(np.log(np.diag(factor)))[:, None]

    further = np.append(_free_motion(noise, time, along, across, speed_m_s), 0.0)[1:]
    base = further - _LOG_2PI * np.arange(1, n + 1)

    extra, extra_rolling = _other_signs(points, order, b_s, speed_m_s)
    stand = u[:, :-1].reshape(n, *shape) + (w[:, :-1] + base[:, None] + extra)[:, None, :]
    possible = (time[:, None] <= b_s - SHORTEST_STAND_S + 1e-9) & (late[0] > 2.0)
    stand = np.where(possible[:, None, :], stand, -np.inf) - np.log(max(possible.sum(), 1))
    rolling = u[:, -1] + w[:, -1] + base + extra_rolling
    rolling = np.where(time <= time[0] - 3.0, rolling, -np.inf) - np.log(n)
    return Evidence(
        stand=np.moveaxis(stand, 1, 0), rolling=rolling, a_s=time, b_s=b_s, speed_m_s=speed_m_s
    )


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

    Each coordinate's velocity is an Ornstein–Uhlenbeck process of 0.7 times the working speed
    over `FREE_S`; its integral has the covariance below from the outermost point on.
    """
    since = (time - time[-1])[::-1] / FREE_S  # outermost first
    gone = np.exp(-since)
    both = np.minimum(since[:, None], since)
    apart = np.exp(-np.abs(since[:, None] - since))
    moved = (0.7 * speed * FREE_S) ** 2 * (2 * both - 1 + gone[:, None] + gone - apart)
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


def _other_signs(
    points: Points, order: NDArray[np.int64], b_s: Array, speed_m_s: float
) -> tuple[Array, Array]:
    """What repeated positions and reported speed add: (n, b) for standing, (n,) for rolling."""
    time = points.time_s[order]
    against = np.where(points.frozen[order], _FROZEN_NATS, 0.0)
    speed = points.speed_m_s[order]
    known = np.isfinite(speed)
    spread = 0.15 + 0.1 * speed_m_s
    moving = np.where(known, -0.5 * ((speed - speed_m_s) / spread) ** 2, 0.0)
    still = np.where(known, -0.5 * (speed / 0.2) ** 2, 0.0)
    # neighbouring speeds share their error, so they count by a half, and no single one decides
    lean = 0.5 * np.clip(still - moving, -6, 6)
    moved = -np.cumsum(against)
    stood = np.where(time[:, None] < b_s - 1.0, lean[:, None], 0.0)
    stood += np.where(time[:, None] > b_s, -against[:, None], 0.0)
    return np.cumsum(stood, axis=0), moved


def settle(evidence: Evidence, log_ramp: Array, log_odds_stand: float) -> FoundEnd:
    """Weigh standing against rolling on, and place the end."""
    stand = evidence.stand + log_ramp[:, None, None]
    log_stand = float(_log_sum(stand.reshape(1, -1))[0]) + log_odds_stand
    probability = float(1 / (1 + np.exp(np.clip(evidence.log_rolling - log_stand, -50, 50))))
    if probability >= 0.5:
        return _stopped(evidence, stand, probability)
    weight = np.exp(evidence.rolling - evidence.log_rolling)
    mean = float(weight @ evidence.a_s)
    spread = float(np.sqrt(weight @ (evidence.a_s - mean) ** 2)) * evidence.speed_m_s
    return FoundEnd(
        instant_s=mean + LINE_UP_M / evidence.speed_m_s,
        std_m=float(np.hypot(spread, LINE_UP_STD_M)) + 5.0 * probability,
        stood_s=None,
        probability_stood=probability,
    )


def _stopped(evidence: Evidence, stand: Array, probability: float) -> FoundEnd:
    """The instant that lies, as nearly as can be told, within the standing."""
    weight = np.exp(stand - stand.max())
    weight /= weight.sum()
    by_ramp, by_a = weight.sum(axis=1), weight.sum(axis=(0, 2))  # (ramps, b), (a,)
    b_s, a_s = evidence.b_s, evidence.a_s
    late = np.maximum(b_s[:, None] - b_s, 0.0)  # chosen, true
    early = np.maximum(a_s - b_s[:, None], 0.0) * evidence.speed_m_s
    ramp = RAMPS_S[:, None, None]
    gone = np.where(late < ramp, late**2 / (2 * ramp), late - ramp / 2) * evidence.speed_m_s
    loss = np.einsum("rcb,rb->c", gone, by_ramp) + early @ by_a
    loss2 = np.einsum("rcb,rb->c", gone**2, by_ramp) + early**2 @ by_a
    # of instants that are equally good the one next to the pass
    best = int(np.argmin(loss - 0.002 * (b_s - b_s[0])))
    stood = (float(by_a @ a_s), float(b_s[best]))
    rolled = 3.0 * (1 - probability)
    return FoundEnd(
        instant_s=float(b_s[best]),
        std_m=float(np.sqrt(loss2[best] + rolled**2 + 0.05**2)),
        stood_s=(min(stood[0], stood[1] - 1.0), stood[1]),
        probability_stood=probability,
    )


def _log_sum(values: Array) -> Array:
    """Logarithm of the sum of exponentials along the last axis."""
    top = values.max(axis=-1)
    top = np.where(np.isfinite(top), top, 0.0)
    with np.errstate(divide="ignore"):
        return np.asarray(top + np.log(np.exp(values - top[..., None]).sum(axis=-1)))
