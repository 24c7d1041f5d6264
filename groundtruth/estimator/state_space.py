"""The state-space model of one axis: what a step does, and how fixes and ground hang together.

Along the pass (z the reported place, M the motion clock, D the ground covered):

    z_i = r(t_i)                        what the phone reports
    r'  = (u − r)/λ                     smoothing inside the phone with time constant λ
    u   = b0 + b1·M + g + s + m + e     true place, slow and medium wander, white noise
    D   = b1·ΔM + Δg

g is an integrated Ornstein-Uhlenbeck process on the motion clock (the wander of the driving
speed), s and m are Gauss-Markov processes, b0 and b1 are diffuse. Across the pass the true place
is a quadratic in M plus a Gauss-Markov weave, and s, m, e, λ are the same: there the noise shows.
A Doppler speed on the way, where M' = 1, observes b1 + g' plus a constant bias, a Gauss-Markov
error and white noise.

From fix to fix, with u running straight between them (a first-order hold),

    y_i = z_i − κ·z_{i−1} = α·u_{i−1} + β·u_i + (1−κ)·e_i + ρ_i,    κ = e^(−Δt/λ), α + β = 1 − κ,

so the reported place needs no state of its own; ρ is rounding and what else is left.
Discretisation is exact for g, s and m.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .batch import NEAR_STOP_SHARE, Timeline
from .priors import DOPPLER_SLOW_S, PARAMETERS, WEAVE_M, WEAVE_S

Array = NDArray[np.float64]

TINY_M = 0.006
"""Rounding of coordinates and what else is left after smoothing, standard deviation in m."""
TURN_SHARE = 0.7
"""What a phone's lag may carry over from the headland turn, as a share of speed times lag."""

INDEX = {name: i for i, name in enumerate(PARAMETERS)}


def held(step_s: Array, lag_s: Array) -> tuple[Array, Array, Array]:
    """κ, α and β of the phone's smoothing over steps of any shape."""
    share = step_s / lag_s
    kept = np.exp(-share)
    mean = (1 - kept) / np.maximum(share, 1e-9)
    return kept, mean - kept, 1 - mean


def rounding(kept: Array) -> Array:
    """Variance of ρ = rounding of two places, as y takes them together. [m²]"""
    return np.asarray(TINY_M**2 * (1 + kept * kept))


def first_white(line: Timeline, values: Array) -> Array:
    """Variance at the first fix beside the wander, along as across: (passes, sets). [m²]

    The white noise that the phone has smoothed so far; and what it still smooths in of the turn
    before, the less the longer it has stood since.
    """
    lag = values[INDEX["lag_s"]]
    steps = [line.step_s[1:, p][line.seen[1:, p] > 0] for p in range(len(line.stretches))]
    typical = np.array([np.median(s) if len(s) else 1.0 for s in steps])
    kept = np.exp(-typical[:, None] / lag)
    white = values[INDEX["white_m"]] ** 2 * (1 - kept) / (1 + kept) + TINY_M**2
    left = np.exp(-np.maximum(line.stood_s, 0.0)[:, None] / lag)
    return np.asarray(white + (TURN_SHARE * line.nominal_m_s[:, None] * lag * left) ** 2)


def wander_growth(clock_s: Array, drive_s: Array) -> Array:
    """Variance of the difference of g over a lapse of the motion clock, drive·speed = 1. [s²]

    2·τ²·(x/τ − 1 + e^(−x/τ)) for the integral of an Ornstein-Uhlenbeck process of variance 1.
    """
    share = np.abs(clock_s) / drive_s
    return np.asarray(2 * drive_s**2 * (share + np.expm1(-share)))


def wander_slope(clock_s: Array, drive_s: Array) -> Array:
    """Derivative of half of `wander_growth` by the lapse, odd in it. [s]"""
    return np.asarray(np.sign(clock_s) * drive_s * (1 - np.exp(-np.abs(clock_s) / drive_s)))


def travel_covariance(line: Timeline, values: Array) -> tuple[Array, Array]:
    """Cov(Δg, g) at each fix, g = 0 at the first: (steps, passes, sets), and Var Δg (passes, sets).

    With stationary increments of variance γ the covariance of g(b) − g(a) with g(t) − g(o) is
    [γ(b−o) − γ(a−o) − γ(b−t) + γ(a−t)]/2; the same holds for the doubt near stops. [m²]
    """
    drive_s = values[INDEX["drive_s"]]
    scale = (values[INDEX["drive"]] * line.nominal_m_s[:, None]) ** 2
    doubt = (NEAR_STOP_SHARE * line.nominal_m_s[:, None]) ** 2
    first, last = line.mark_clock_s[:, None, :, None] - line.clock_s[None, :, :, None]
    between = scale * (wander_growth(first, drive_s) - wander_growth(last, drive_s))
    unsure = np.abs(line.mark_unsure_s[:, None] - line.unsure_s)
    between += doubt * (unsure[0] - unsure[1])[:, :, None]
    between = (between - between[0]) / 2
    clock = line.mark_clock_s[1] - line.mark_clock_s[0]
    own = scale * wander_growth(clock[:, None], drive_s)
    own += doubt * np.abs(line.mark_unsure_s[1] - line.mark_unsure_s[0])[:, None]
    return between, own


def travel_speed_covariance(line: Timeline, values: Array) -> Array:
    """Cov(Δg, g') at each fix: (steps, passes, sets). [m²/s]"""
    drive_s = values[INDEX["drive_s"]]
    scale = (values[INDEX["drive"]] * line.nominal_m_s[:, None]) ** 2
    first, last = line.mark_clock_s[:, None, :, None] - line.clock_s[None, :, :, None]
    return np.asarray(scale * (wander_slope(last, drive_s) - wander_slope(first, drive_s)))


STATES = 4
"""0 g (across: weave), 1 speed of g, 2 slow, 3 medium; with Doppler 4, its correlated error."""
STAY, FADE, SLOW, MEDIUM, CORRELATED = range(5)
REACH, OLD, NEW, WHITE, Q_PLACE, Q_BOTH, Q_SPEED, Q_SLOW, Q_MEDIUM, Q_CORRELATED = range(5, 15)


class Model:
    """What each step does to the states, the sets side by side.

    ``rows`` (15, kinds, sets) holds the coefficients of every kind of step, in the order STAY to
    Q_CORRELATED: what is kept of each state, what g takes of its speed, α, β and the white
    variance of the reported place, and what the step adds to the covariance of the states.
    ``index`` (steps, axes) tells the kind of each step, ``kept`` (kinds, sets) is κ.
    """

    def __init__(self, line: Timeline, values: Array) -> None:
        self.index = line.kind_of
        dt, dm, near_stop, speed, along = (k[:, None] for k in line.kinds)
        p = {name: values[i][None, :] for name, i in INDEX.items()}
        kept, old, new = held(dt, p["lag_s"])
        slow, medium = np.exp(-dt / p["slow_s"]), np.exp(-dt / p["medium_s"])
        d = dm / p["drive_s"]
        fade = np.exp(-d)
        tau, var = p["drive_s"], along * (p["drive"] * speed) ** 2
        # the series keeps the difference of near-equal terms exact for small steps
        wander = np.where(
            d < 1e-2,
            tau**2 * d**3 * (2 / 3 - d / 2),
            tau**2 * (2 * d - 3 + 4 * fade - fade * fade),
        )
        weave = np.exp(-dt / WEAVE_S)
        ones = np.ones_like(kept)
        correlated = np.exp(-dt / DOPPLER_SLOW_S) * ones
        self.kept = kept
        self.rows = np.stack(
            [
                np.where(along > 0, 1.0, weave) * ones,
                fade,
                slow,
                medium,
                correlated,
                along * tau * (1 - fade),
                old,
                new,
                (p["white_m"] * (1 - kept)) ** 2 + rounding(kept),
                np.where(along > 0, var * wander + near_stop, WEAVE_M**2 * (1 - weave**2) * ones),
                var * tau * (1 - fade) ** 2,
                var * (1 - fade * fade),
                p["slow_m"] ** 2 * (1 - slow**2),
                p["medium_m"] ** 2 * (1 - medium**2),
                p["doppler_slow_m_s"] ** 2 * (1 - correlated**2) * along,
            ]
        )

    def start(self, line: Timeline, values: Array, states: int) -> Array:
        """Covariance of the states at the first fix: (states, states, axes, sets).

        The weave, the wanders and the speed of g are stationary; g counts from there.
        """
        p = {name: values[i][None, :] for name, i in INDEX.items()}
        passes = line.step_s.shape[1]
        cov = np.zeros((states, states, self.index.shape[1], values.shape[1]))
        cov[1, 1, :passes] = (p["drive"] * line.nominal_m_s[:, None]) ** 2
        cov[0, 0, passes:] = WEAVE_M**2
        cov[2, 2] = p["slow_m"] ** 2
        cov[3, 3] = p["medium_m"] ** 2
        if states > STATES:
            cov[4, 4, :passes] = p["doppler_slow_m_s"] ** 2
        return cov
