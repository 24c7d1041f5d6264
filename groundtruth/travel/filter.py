"""The state-space model of one axis, filtered for many parameter sets and passes side by side.

Along the pass (z the reported place, M the motion clock, D the ground covered):

    z_i = r(t_i) + ε_i                  what the phone reports, ε only rounding
    r'  = (u − r)/λ                     smoothing inside the phone with time constant λ
    u   = b0 + b1·M + g + s + m + e     true place, slow and medium wander, white noise
    D   = b1·ΔM + Δg

g is an integrated Ornstein-Uhlenbeck process on the motion clock (the wander of the driving
speed), s and m are Gauss-Markov processes, b0 and b1 are diffuse. Across the pass the true place
is a quadratic in M plus a Gauss-Markov weave, and s, m, e, λ are the same: there the noise shows.
A Doppler speed observes b1·M' + g' plus a constant bias, a Gauss-Markov error and white noise.

Regression coefficients are handled by running the same filter over the columns of the design
matrix (the "augmented Kalman filter", P. de Jong, Annals of Statistics 19, 1991, 1073-1083, from
memory); the likelihood is the restricted one. Discretisation is exact for g, s and m, and a
first-order hold for r. The cost is linear in the number of fixes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .noise import DOPPLER_BIAS_M_S, DOPPLER_SLOW_S, PARAMETERS, WEAVE_M, WEAVE_S
from .stretch import RAMP_DOUBT_S, STAND_DOUBT_S, Stretch, standing_before

Array = NDArray[np.float64]

TINY_M = 0.006
"""Rounding of coordinates and what else is left after smoothing, standard deviation in m."""
NEAR_STOP_SHARE = 0.3
"""Near a stop the speed is unsure by this share of the working speed, from second to second."""
TURN_SHARE = 0.7
"""What a phone's lag may carry over from the headland turn, as a share of speed times lag."""
SPEED_SETTLED_S = 8.0
"""A Doppler speed is used from this long after a stop and until this long before one, s."""

_INDEX = {name: i for i, name in enumerate(PARAMETERS)}


@dataclass(frozen=True, slots=True, eq=False)
class Timeline:
    """Steps of several stretches in lockstep, padded at the end. Arrays of shape (steps, passes).

    A step is a fix or a mark. ``step_s`` and ``clock_step_s`` lead from the step before to this
    one; ``inside`` is 1 where that way lies between the marks; ``near_stop_m2`` is the variance
    that an unknown speed near a stop adds on that way; ``seen`` is 1 where a position is observed.
    """

    time_s: Array
    step_s: Array
    clock_step_s: Array
    clock_s: Array
    inside: Array
    near_stop_m2: Array
    seen: Array
    along_m: Array
    across_m: Array
    speed_m_s: Array
    speed_seen: Array
    across_used: bool
    stretches: tuple[Stretch, ...]
    nominal_m_s: Array  # (passes,)
    span_s: Array  # (passes,)


def timeline(stretches: Sequence[Stretch], *, doppler: bool, across: bool = True) -> Timeline:
    """Lay the fixes and marks of the stretches out step by step.

    Without ``across`` the places across the passes are left unobserved.
    """
    rows = [_steps(s, doppler=doppler) for s in stretches]
    longest = max(len(r["time"]) for r in rows)

    def stack(name: str) -> Array:
        out = np.zeros((longest, len(rows)))
        for p, row in enumerate(rows):
            out[: len(row[name]), p] = row[name]
        return out

    return Timeline(
        time_s=stack("time"),
        step_s=stack("step"),
        clock_step_s=stack("clock_step"),
        clock_s=stack("clock"),
        inside=stack("inside"),
        near_stop_m2=stack("near_stop"),
        seen=stack("seen"),
        along_m=stack("along"),
        across_m=stack("across"),
        speed_m_s=stack("speed"),
        speed_seen=stack("speed_seen"),
        across_used=across,
        stretches=tuple(stretches),
        nominal_m_s=np.array([s.rough_speed_m_s for s in stretches]),
        span_s=np.array([max(s.time_s[-1] - s.time_s[0], 1.0) for s in stretches]),
    )


def _steps(stretch: Stretch, *, doppler: bool) -> dict[str, Array]:
    marks = np.array([stretch.start_s, stretch.end_s])
    time = np.concatenate([stretch.time_s, marks])
    order = np.argsort(time, kind="stable")
    time = time[order]
    is_fix = order < len(stretch.time_s)
    source = np.where(is_fix, order, 0)
    clock = stretch.under_way_s(time)
    step = np.diff(time, prepend=time[0])
    clock_step = np.diff(clock, prepend=clock[0])
    middle = time - step / 2
    inside = ((middle > stretch.start_s) & (middle < stretch.end_s)).astype(float)
    near = np.zeros(len(time))
    for begin, until in () if stretch.wheel is not None else stretch.stops:
        for low, high in (
            (begin - RAMP_DOUBT_S, begin + STAND_DOUBT_S),
            (until - STAND_DOUBT_S, until + RAMP_DOUBT_S),
        ):
            overlap = np.clip(np.minimum(time, high) - np.maximum(time - step, low), 0, None)
            near = np.maximum(near, overlap)
    speed = stretch.speed_m_s[source]
    nominal = stretch.rough_speed_m_s
    # a standing or starting tractor says nothing about the working speed
    half = 1.0
    standing = standing_before(stretch.stops, time + half) - standing_before(
        stretch.stops, time - half
    )
    rolling = standing <= 0
    for begin, end in stretch.stops:
        for edge in (begin, end):
            rolling &= np.abs(time - edge) > SPEED_SETTLED_S
    speed_seen = is_fix & np.isfinite(speed) & rolling & (speed > 0.3 * nominal)
    if not doppler:
        speed_seen[:] = False
    return {
        "time": time,
        "step": step,
        "clock": clock,
        "clock_step": clock_step,
        "inside": inside,
        "near_stop": near * (NEAR_STOP_SHARE * nominal) ** 2,
        "seen": (is_fix & stretch.used[source]).astype(float),
        "along": np.where(is_fix, stretch.along_m[source], 0.0),
        "across": np.where(is_fix, stretch.across_m[source], 0.0),
        "speed": np.where(speed_seen, np.nan_to_num(speed), 0.0),
        "speed_seen": speed_seen.astype(float),
    }


def clocks(line: Timeline, ramp_s: Array) -> Array:
    """The motion clock less what the ramps lose: (steps, passes, sets)."""
    steps, passes = line.step_s.shape
    out = np.broadcast_to(line.clock_s[:, :, None], (steps, passes, len(ramp_s))).copy()
    for p, stretch in enumerate(line.stretches):
        time = stretch.ramp_loss_s(line.time_s[:, p], ramp_s)
        origin = stretch.ramp_loss_s(np.array([stretch.start_s]), ramp_s)
        out[:, p] -= time - origin
    return out


def covered(line: Timeline, ramp_s: Array) -> Array:
    """The motion clock from mark to mark: (passes, sets). [s]"""
    out = np.empty((len(line.stretches), len(ramp_s)))
    for p, stretch in enumerate(line.stretches):
        marks = np.array([stretch.start_s, stretch.end_s])
        loss = stretch.ramp_loss_s(marks, ramp_s)
        out[p] = stretch.under_way_s(marks[1:])[0] - (loss[1] - loss[0])
    return out


@dataclass(frozen=True, slots=True, eq=False)
class Filtered:
    """What the filter leaves for each axis and parameter set.

    Shapes end in (axes, sets) with axes = 2·passes: along for every pass, then across. ``gram``
    (columns, columns, …) is Σ v·vᵀ/S of the innovations of the columns [data, regressors…];
    ``log_scale`` is Σ log S; ``travel`` (columns, …) the filtered Δg of each column and
    ``travel_var`` its variance, both 0 across. With extra columns ``whitened`` (steps, columns, …)
    holds the innovations over their standard deviations, 0 where nothing was observed.
    """

    gram: Array
    log_scale: Array
    travel: Array
    travel_var: Array
    whitened: Array | None = None


STATES = 6
"""0 g (across: weave), 1 speed of g, 2 slow, 3 medium, 4 reported place, 5 Δg between the marks;
with Doppler 6, its correlated error."""


class _Model:
    """Transition and noise of the states for each kind of step, the sets side by side.

    Arrays have shape (kinds, sets); ``index`` (steps, axes) tells the kind of each step.
    """

    def __init__(self, line: Timeline, values: Array, *, doppler: bool) -> None:
        self.doppler = doppler
        self.states = STATES + 1 if doppler else STATES
        along = np.stack(
            [
                np.round(line.step_s, 2),
                np.round(line.clock_step_s, 2),
                line.inside,
                np.round(line.near_stop_m2, 4),
                np.broadcast_to(np.round(line.nominal_m_s, 4), line.step_s.shape),
                np.ones_like(line.step_s),
            ]
        )
        across = np.zeros_like(along)
        across[0] = along[0]
        keys = np.concatenate([along, across], axis=2)
        kinds, index = np.unique(keys.reshape(len(keys), -1), axis=1, return_inverse=True)
        self.index = np.asarray(index).reshape(keys.shape[1:])
        self._build(kinds, values)

    def _build(self, kinds: Array, values: Array) -> None:
        dt, dm, inside, near_stop, speed, along = (k[:, None] for k in kinds)
        p = {name: values[i][None, :] for name, i in _INDEX.items()}
        kept = np.exp(-dt / p["lag_s"])
        held = (1 - kept) / np.maximum(dt / p["lag_s"], 1e-9)
        new, old = 1 - held, held - kept
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
        stay = np.where(along > 0, 1.0, weave)
        ones = np.ones_like(kept)
        self.kept, self.old, self.new = kept, old, new
        self.slow, self.medium, self.fade = slow, medium, fade
        self.stay, self.reach, self.inside = stay * ones, along * tau * (1 - fade), inside * ones
        q_0 = np.where(along > 0, var * wander + near_stop, WEAVE_M**2 * (1 - weave**2) * ones)
        q_01 = var * tau * (1 - fade) ** 2
        q_slow = p["slow_m"] ** 2 * (1 - slow**2)
        q_medium = p["medium_m"] ** 2 * (1 - medium**2)
        q = np.zeros((self.states, self.states, *kept.shape))
        q[0, 0], q[0, 1], q[1, 0], q[1, 1] = q_0, q_01, q_01, var * (1 - fade * fade)
        q[2, 2], q[3, 3] = q_slow, q_medium
        q[4, 4] = new**2 * (q_0 + q_slow + q_medium) + p["white_m"] ** 2 * (1 - kept) ** 2
        for i, c in ((0, q_0), (1, q_01), (2, q_slow), (3, q_medium)):
            q[i, 4] = q[4, i] = new * c
        q[5, 5] = inside * q_0
        for i, c in ((0, q_0), (1, q_01), (4, new * q_0)):
            q[i, 5] = q[5, i] = inside * c
        if self.doppler:
            self.doppler_kept = np.exp(-dt / DOPPLER_SLOW_S) * ones
            q[6, 6] = p["doppler_slow_m_s"] ** 2 * (1 - self.doppler_kept**2)
        self.q = q

    def start(self, line: Timeline, values: Array) -> Array:
        """Covariance of the states at the first step, stationary where they are. (s, s, a, k)"""
        p = {name: values[i][None, :] for name, i in _INDEX.items()}
        passes = line.step_s.shape[1]
        cov = np.zeros((self.states, self.states, 2 * passes, values.shape[1]))
        typical = float(np.median(line.step_s[1:][line.step_s[1:] > 0]))
        kept = np.exp(-typical / p["lag_s"])
        white = p["white_m"] ** 2 * (1 - kept) / (1 + kept)
        cov[2, 2] = slow = p["slow_m"] ** 2
        cov[3, 3] = medium = p["medium_m"] ** 2
        cov[4, 4] = slow + medium + white
        cov[2, 4] = cov[4, 2] = slow
        cov[3, 4] = cov[4, 3] = medium
        cov[1, 1, :passes] = (p["drive"] * line.nominal_m_s[:, None]) ** 2
        cov[0, 0, passes:] = cov[0, 4, passes:] = cov[4, 0, passes:] = WEAVE_M**2
        cov[4, 4, passes:] += WEAVE_M**2
        # a pass that begins on the move: the phone still smooths in what it saw of the turn
        rolling = (line.clock_step_s[1] > 0)[:, None]
        turn = np.where(rolling, (TURN_SHARE * line.nominal_m_s[:, None] * p["lag_s"]) ** 2, 0.0)
        cov[4, 4] += np.concatenate([turn, turn])
        if self.doppler:
            cov[6, 6, :passes] = p["doppler_slow_m_s"] ** 2
        return cov

    def advance(self, a: Array, i: NDArray[np.int64]) -> Array:
        """Apply the transition of step kinds ``i`` (axes,) along the first axis of ``a``."""
        out = np.empty_like(a)
        gained = self.reach[i] * a[1]
        np.multiply(self.stay[i], a[0], out=out[0])
        out[0] += gained
        np.multiply(self.fade[i], a[1], out=out[1])
        np.multiply(self.slow[i], a[2], out=out[2])
        np.multiply(self.medium[i], a[3], out=out[3])
        before = a[0] + a[2]
        before += a[3]
        before *= self.old[i]
        after = out[0] + out[2]
        after += out[3]
        after *= self.new[i]
        np.multiply(self.kept[i], a[4], out=out[4])
        out[4] += before
        out[4] += after
        gained *= self.inside[i]
        np.add(a[5], gained, out=out[5])
        if self.doppler:
            np.multiply(self.doppler_kept[i], a[6], out=out[6])
        return out

    def smoothed(self, values: Array, first: Array) -> Array:
        """What the phone's smoothing makes of known inputs (steps, axes, sets), from ``first``."""
        out = np.empty_like(values)
        out[0] = first
        for t in range(1, len(values)):
            i = self.index[t]
            out[t] = (
                self.kept[i] * out[t - 1] + self.old[i] * values[t - 1] + self.new[i] * values[t]
            )
        return out


def _design(model: _Model, line: Timeline, values: Array, more: int) -> Array:
    """Columns of every position observation: (steps, columns, axes, sets).

    Along: data, 1, M, 0; across: data, 1, M, M²; then ``more`` columns left at 0.
    """
    clock = clocks(line, values[_INDEX["ramp_s"]])
    lag = np.where((line.clock_step_s[1] > 0)[:, None], values[_INDEX["lag_s"]][None, :], 0.0)
    share = clock / line.span_s[:, None]
    first = share[0] - lag / line.span_s[:, None]
    passes = line.step_s.shape[1]
    linear = model.smoothed(
        np.concatenate([clock, share], axis=1), np.concatenate([clock[0] - lag, first])
    )
    padded = np.concatenate([np.zeros_like(share), share**2], axis=1)
    square = model.smoothed(padded, np.concatenate([np.zeros_like(first), first**2]))
    design = np.zeros((len(clock), 4 + more, 2 * passes, clock.shape[2]))
    design[:, 0] = np.concatenate([line.along_m, line.across_m], axis=1)[:, :, None]
    design[:, 1] = 1.0
    design[:, 2] = linear
    design[:, 3] = square
    return design


def run_filter(
    line: Timeline,
    values: Array,
    *,
    doppler: bool = False,
    extra: Array | None = None,
) -> Filtered:
    """Filter both axes of every pass with every parameter set of ``values`` (parameters, sets).

    ``extra`` (steps, passes, columns) adds known columns to the position observations of both
    axes, after the four that are always there.
    """
    model = _Model(line, values, doppler=doppler)
    steps, passes = line.step_s.shape
    sets = values.shape[1]
    more = 0 if extra is None else extra.shape[2]
    design = _design(model, line, values, more)
    if extra is not None:
        design[:, 4:, :passes] = design[:, 4:, passes:] = extra.transpose(0, 2, 1)[..., None]
    columns = 4 + more
    mean = np.zeros((model.states, columns, 2 * passes, sets))
    cov = model.start(line, values)
    gram = np.zeros((columns, columns, 2 * passes, sets))
    log_scale = np.zeros((2 * passes, sets))
    whitened = np.zeros((steps, columns, 2 * passes, sets)) if more else None
    seen = np.concatenate([line.seen, line.seen * line.across_used], axis=1)
    heard = np.concatenate([line.speed_seen, np.zeros_like(line.speed_seen)], axis=1)
    speeds = _speed_design(line, values) if doppler else None
    white2 = values[_INDEX["doppler_white_m_s"]][None, :] ** 2
    for t in range(steps):
        if t:
            i = model.index[t]
            mean = model.advance(mean, i)
            cov = model.advance(model.advance(cov, i).swapaxes(0, 1), i)
            cov += model.q[:, :, i]
        if seen[t].any():
            innovation = design[t] - mean[4]
            spread = cov[4, 4] + TINY_M**2
            weight = seen[t][:, None] / spread
            if whitened is None:
                gram += innovation[:, None] * (innovation * weight)
            else:
                np.multiply(innovation, np.sqrt(weight), out=whitened[t])
            log_scale += seen[t][:, None] * np.log(spread)
            _learn(mean, cov, innovation, cov[:, 4].copy(), weight)
        if speeds is not None and heard[t].any():
            innovation = speeds[t] - mean[1, :4] - mean[6, :4]
            if more:
                innovation = np.concatenate([innovation, -mean[1, 4:] - mean[6, 4:]])
            shared = cov[:, 1] + cov[:, 6]
            spread = shared[1] + shared[6] + white2
            weight = heard[t][:, None] / spread
            gram += innovation[:, None] * (innovation * weight)
            log_scale += heard[t][:, None] * np.log(spread)
            _learn(mean, cov, innovation, shared, weight)
    if whitened is not None:
        gram += np.einsum("tcak,tdak->cdak", whitened, whitened, optimize=True)
    return Filtered(gram, log_scale, mean[5], cov[5, 5], whitened)


def _speed_design(line: Timeline, values: Array) -> Array:
    """Columns of every Doppler observation: speed, 0, 1, 1 (its bias); nothing across."""
    steps, passes = line.step_s.shape
    white2 = values[_INDEX["doppler_white_m_s"]][None, :] ** 2
    # a speed is never negative, so noise makes slow driving read high: v + s²/(2v)
    high = white2 / (2 * np.maximum(line.nominal_m_s[:, None], 0.2))
    out = np.zeros((steps, 4, 2 * passes, values.shape[1]))
    out[:, 0, :passes] = line.speed_m_s[:, :, None] - high
    out[:, 2, :passes] = out[:, 3, :passes] = 1.0
    return out


def _learn(mean: Array, cov: Array, innovation: Array, shared: Array, weight: Array) -> None:
    """One scalar observation, in place. ``shared`` (states, …) is its covariance with the states,
    ``weight`` one over its variance, 0 where nothing was observed."""
    gain = shared * weight
    mean += gain[:, None] * innovation
    cov -= gain[:, None] * shared


BIAS_PRECISION = 1 / DOPPLER_BIAS_M_S**2
