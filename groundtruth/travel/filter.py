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
from .stretch import NEAR_STOP_S, Stretch, standing_before

Array = NDArray[np.float64]

TINY_M = 0.006
"""Rounding of coordinates and what else is left after smoothing, standard deviation in m."""
NEAR_STOP_SHARE = 0.3
"""Near a stop the speed is unsure by this share of the working speed, from second to second."""
SPEED_SETTLED_S = 8.0
"""A Doppler speed is used from this long after a stop and until this long before one, s."""

_INDEX = {name: i for i, name in enumerate(PARAMETERS)}


@dataclass(frozen=True, slots=True, eq=False)
class Timeline:
    """Steps of several stretches in lockstep, padded at the end. Arrays of shape (steps, passes).

    A step is a fix or a mark. ``step_s`` and ``clock_step_s`` lead from the step before to this
    one; ``inside`` is 1 where that way lies between the marks; ``ramp_m2`` is the variance that an
    unknown speed near a stop adds on that way; ``seen`` is 1 where a position is observed.
    """

    time_s: Array
    step_s: Array
    clock_step_s: Array
    clock_s: Array
    inside: Array
    ramp_m2: Array
    seen: Array
    along_m: Array
    across_m: Array
    speed_m_s: Array
    speed_seen: Array
    stretches: tuple[Stretch, ...]
    nominal_m_s: Array  # (passes,)
    span_s: Array  # (passes,)


def timeline(stretches: Sequence[Stretch], *, doppler: bool) -> Timeline:
    """Lay the fixes and marks of the stretches out step by step."""
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
        ramp_m2=stack("ramp"),
        seen=stack("seen"),
        along_m=stack("along"),
        across_m=stack("across"),
        speed_m_s=stack("speed"),
        speed_seen=stack("speed_seen"),
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
    for begin, end in stretch.stops:
        for edge in (begin, end):
            if time[0] - NEAR_STOP_S < edge < time[-1] + NEAR_STOP_S:
                low, high = edge - NEAR_STOP_S, edge + NEAR_STOP_S
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
        "ramp": near * (NEAR_STOP_SHARE * nominal) ** 2,
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
    """What the filter leaves for each pass and parameter set; shapes end in (passes, sets).

    ``gram`` (columns, columns, …) is Σ v·vᵀ/S of the innovations of the columns
    [data, regressors…]; ``log_scale`` is Σ log S; ``travel`` (columns, …) the filtered Δg of each
    column and ``travel_var`` its variance; ``used`` counts observations, shape (passes, 1).
    """

    gram: Array
    log_scale: Array
    travel: Array
    travel_var: Array
    used: Array


class _Model:
    """Transition and noise of the states for each kind of step, the sets side by side.

    States along: 0 g, 1 its speed, 2 slow, 3 medium, 4 reported place, 5 Δg between the marks,
    6 Doppler error (only where there is Doppler). Across: 0 weave, then 2, 3, 4 as 1, 2, 3.
    """

    def __init__(self, line: Timeline, values: Array, *, along: bool, doppler: bool) -> None:
        self.along = along
        self.doppler = doppler and along
        self.states = (7 if self.doppler else 6) if along else 4
        steps, passes = line.step_s.shape
        dt = np.round(line.step_s, 2)
        dm = np.round(line.clock_step_s, 2)
        inside = line.inside if along else np.zeros_like(line.inside)
        ramp = np.round(line.ramp_m2, 4)
        speed = np.broadcast_to(np.round(line.nominal_m_s, 4), dt.shape)
        keys = np.stack([a.ravel() for a in (dt, dm, inside, ramp, speed)])
        if not along:
            keys[1:] = 0.0
        kinds, self_index = np.unique(keys, axis=1, return_inverse=True)
        self.index = np.asarray(self_index).reshape(steps, passes)
        self._build(kinds, values)

    def _build(self, kinds: Array, values: Array) -> None:
        dt, dm, inside, ramp, speed = (k[:, None] for k in kinds)
        p = {name: values[i][None, :] for name, i in _INDEX.items()}
        kept = np.exp(-dt / p["lag_s"])
        ratio = np.maximum(dt / p["lag_s"], 1e-9)
        held = (1 - kept) / ratio
        new = 1 - held
        old = held - kept
        slow = np.exp(-dt / p["slow_s"])
        medium = np.exp(-dt / p["medium_s"])
        self.kept, self.old, self.new, self.slow, self.medium = kept, old, new, slow, medium
        q_slow = p["slow_m"] ** 2 * (1 - slow**2)
        q_medium = p["medium_m"] ** 2 * (1 - medium**2)
        q_white = p["white_m"] ** 2 * (1 - kept) ** 2
        q = np.zeros((self.states, self.states, *kept.shape))
        if self.along:
            d = dm / p["drive_s"]
            f = np.exp(-d)
            tau, var = p["drive_s"], (p["drive"] * speed) ** 2
            self.reach, self.fade = tau * (1 - f), f
            # series below keeps the difference of near-equal terms exact for small steps
            wander = np.where(
                d < 1e-2, tau**2 * d**3 * (2 / 3 - d / 2), tau**2 * (2 * d - 3 + 4 * f - f * f)
            )
            q_g = var * wander + ramp
            q_gw = var * tau * (1 - f) ** 2
            q_w = var * (1 - f * f)
            self.inside = np.broadcast_to(inside, kept.shape)
            q[0, 0], q[0, 1], q[1, 0], q[1, 1] = q_g, q_gw, q_gw, q_w
            q[2, 2], q[3, 3] = q_slow, q_medium
            q[4, 4] = new**2 * (q_g + q_slow + q_medium) + q_white
            for i, c in ((0, q_g), (1, q_gw), (2, q_slow), (3, q_medium)):
                q[i, 4] = q[4, i] = new * c
            q[5, 5] = inside * q_g
            for i, c in ((0, q_g), (1, q_gw), (4, new * q_g)):
                q[i, 5] = q[5, i] = inside * c
            if self.doppler:
                self.doppler_kept = np.exp(-dt / DOPPLER_SLOW_S) * np.ones_like(kept)
                q[6, 6] = p["doppler_slow_m_s"] ** 2 * (1 - self.doppler_kept**2)
        else:
            self.weave = np.exp(-dt / WEAVE_S) * np.ones_like(kept)
            q_weave = WEAVE_M**2 * (1 - self.weave**2)
            q[0, 0], q[1, 1], q[2, 2] = q_weave, q_slow, q_medium
            q[3, 3] = new**2 * (q_weave + q_slow + q_medium) + q_white
            for i, c in ((0, q_weave), (1, q_slow), (2, q_medium)):
                q[i, 3] = q[3, i] = new * c
        self.q = q

    def start(self, line: Timeline, values: Array) -> Array:
        """Covariance of the states at the first step, stationary where they are. (s, s, p, k)"""
        p = {name: values[i][None, :] for name, i in _INDEX.items()}
        passes = line.step_s.shape[1]
        shape = (self.states, self.states, passes, values.shape[1])
        cov = np.zeros(shape)
        typical = float(np.median(line.step_s[1:][line.step_s[1:] > 0]))
        kept = np.exp(-typical / p["lag_s"])
        white = p["white_m"] ** 2 * (1 - kept) / (1 + kept)
        slow, medium = p["slow_m"] ** 2, p["medium_m"] ** 2
        offset = 2 if self.along else 1
        if self.along:
            cov[1, 1] = (p["drive"] * line.nominal_m_s[:, None]) ** 2
            if self.doppler:
                cov[6, 6] = p["doppler_slow_m_s"] ** 2
        else:
            cov[0, 0] = WEAVE_M**2
            cov[3, 3] += WEAVE_M**2
            cov[0, 3] = cov[3, 0] = WEAVE_M**2
        s, m, r = offset, offset + 1, offset + 2
        cov[s, s] = slow
        cov[m, m] = medium
        cov[r, r] += slow + medium + white
        cov[s, r] = cov[r, s] = slow
        cov[m, r] = cov[r, m] = medium
        return cov

    def advance(self, a: Array, i: NDArray[np.int64]) -> Array:
        """Apply the transition of step kinds ``i`` (passes,) along the first axis of ``a``."""
        out = np.empty_like(a)
        kept, old, new = self.kept[i], self.old[i], self.new[i]
        slow, medium = self.slow[i], self.medium[i]
        if self.along:
            gained = self.reach[i] * a[1]
            np.add(a[0], gained, out=out[0])
            np.multiply(self.fade[i], a[1], out=out[1])
            np.multiply(slow, a[2], out=out[2])
            np.multiply(medium, a[3], out=out[3])
            before = a[0] + a[2]
            before += a[3]
            after = out[0] + out[2]
            after += out[3]
            np.multiply(kept, a[4], out=out[4])
            before *= old
            after *= new
            out[4] += before
            out[4] += after
            gained *= self.inside[i]
            np.add(a[5], gained, out=out[5])
            if self.doppler:
                np.multiply(self.doppler_kept[i], a[6], out=out[6])
        else:
            np.multiply(self.weave[i], a[0], out=out[0])
            np.multiply(slow, a[1], out=out[1])
            np.multiply(medium, a[2], out=out[2])
            out[3] = kept * a[3] + old * (a[0] + a[1] + a[2]) + new * (out[0] + out[1] + out[2])
        return out


def _lagged(model: _Model, inputs: Sequence[Array], first: Sequence[Array]) -> list[Array]:
    """The smoothed response of the phone to each input, both (steps, passes, sets)."""
    outputs = []
    for values, begin in zip(inputs, first, strict=True):
        steps = len(values)
        out = np.empty_like(values)
        out[0] = begin
        for t in range(1, steps):
            i = model.index[t]
            out[t] = (
                model.kept[i] * out[t - 1]
                + model.old[i] * values[t - 1]
                + model.new[i] * values[t]
            )
        outputs.append(out)
    return outputs


def run_filter(
    line: Timeline,
    values: Array,
    *,
    along: bool,
    doppler: bool = False,
    extra: Array | None = None,
) -> Filtered:
    """Filter every pass of ``line`` with every parameter set of ``values`` (parameters, sets).

    Columns along: data, 1, M and, with Doppler, its bias; across: data, 1, M, M². ``extra``
    (steps, passes, columns) adds known columns to the position observations.
    """
    model = _Model(line, values, along=along, doppler=doppler)
    steps, passes = line.step_s.shape
    sets = values.shape[1]
    doppler = model.doppler
    lag = values[_INDEX["lag_s"]][None, :]
    clock = clocks(line, values[_INDEX["ramp_s"]])
    moving = (line.clock_step_s[1] > 0)[:, None]
    scale = line.span_s
    if along:
        inputs = [clock]
        first = [clock[0] - np.where(moving, lag, 0.0)]
        data = line.along_m
    else:
        share = clock / scale[:, None]
        inputs = [share, share**2]
        start = clock[0] - np.where(moving, lag, 0.0)
        first = [start / scale[:, None], (start / scale[:, None]) ** 2]
        data = line.across_m
    responses = _lagged(model, inputs, first)
    more = 0 if extra is None else extra.shape[2]
    bias_column = 1 if doppler else 0
    columns = 2 + len(responses) + bias_column + more
    place = 4 if along else 3
    mean = np.zeros((model.states, columns, passes, sets))
    cov = model.start(line, values)
    gram = np.zeros((columns, columns, passes, sets))
    log_scale = np.zeros((passes, sets))
    observed = np.empty((columns, passes, sets))
    white2 = values[_INDEX["doppler_white_m_s"]][None, :] ** 2
    nominal = line.nominal_m_s[:, None]
    for t in range(steps):
        if t:
            i = model.index[t]
            mean = model.advance(mean, i)
            half = model.advance(cov, i)
            cov = model.advance(half.swapaxes(0, 1), i)
            cov += model.q[:, :, i]
        seen = line.seen[t][:, None]
        if seen.any():
            observed[:] = 0.0
            observed[0] = data[t][:, None]
            observed[1] = 1.0
            for c, response in enumerate(responses):
                observed[2 + c] = response[t]
            if extra is not None:
                observed[columns - more :] = extra[t].T[:, :, None]
            spread = cov[place, place] + TINY_M**2
            mean, cov, log_scale = _observe(
                mean, cov, gram, log_scale, observed, mean[place], cov[:, place], spread, seen
            )
        if doppler:
            heard = line.speed_seen[t][:, None]
            if heard.any():
                observed[:] = 0.0
                # a speed is never negative, so noise makes slow driving read high: v + s²/(2v)
                high = white2 / (2 * np.maximum(nominal, 0.2))
                observed[0] = line.speed_m_s[t][:, None] - high
                observed[2] = 1.0
                observed[3] = 1.0
                spread = cov[1, 1] + 2 * cov[1, 6] + cov[6, 6] + white2
                mean, cov, log_scale = _observe(
                    mean,
                    cov,
                    gram,
                    log_scale,
                    observed,
                    mean[1] + mean[6],
                    cov[:, 1] + cov[:, 6],
                    spread,
                    heard,
                )
    used = (line.seen.sum(axis=0) + (line.speed_seen.sum(axis=0) if doppler else 0))[:, None]
    if along:
        return Filtered(gram, log_scale, mean[5], cov[5, 5], used)
    nothing = np.zeros((columns, passes, sets))
    return Filtered(gram, log_scale, nothing, nothing[0], used)


def _observe(
    mean: Array,
    cov: Array,
    gram: Array,
    log_scale: Array,
    observed: Array,
    predicted: Array,
    shared: Array,
    spread: Array,
    seen: Array,
) -> tuple[Array, Array, Array]:
    """One scalar observation; ``gram`` is updated in place. ``seen`` (passes, 1) is 0 or 1."""
    innovation = observed - predicted
    weight = seen / spread
    gain = shared * weight
    gram += innovation[:, None] * (innovation * weight)[None]
    log_scale = log_scale + seen * np.log(spread)
    mean = mean + gain[:, None] * innovation[None]
    cov = cov - gain[:, None] * shared[None]
    return mean, cov, log_scale


BIAS_PRECISION = 1 / DOPPLER_BIAS_M_S**2
