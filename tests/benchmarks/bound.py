"""The least standard deviation that any estimator of the ground covered could have.

Everything that the simulator drew is taken as known: the phone's noise, its lag, the tractor's
nominal speed and the size and time of its wander, its acceleration, when it stood, which fixes came
late, were shifted by multipath, or repeat the one before, and the corrections of the phone. Unknown
are the place (b0) and the mean speed (b1) of each pass, both diffuse, the wander of the speed and
the errors. Then place and data are linear in Gaussian terms, and the posterior standard deviation
of the ground follows exactly, whatever the data are:

    along_i = [b0 + b1·M(t_i) + g(t_i) + slow + fast (+ white within the phone)] ∗ lag + white_i
    M' = r,  g' = v·r·w,  D = b1·ΔM + Δg

r is the ramp, 0 standing and 1 at working speed, w the relative wander of the speed. The phone's
lag is the simulator's own chain of one-pole filters. A Doppler speed observes b1·r + v·r·w + bias
+ correlated + white. The way across the pass says nothing more once the noise is known, since the
two axes err independently. Not Gaussian, and counted by their variance: rounding of coordinates,
the place of a fix within its second, the spread of the Doppler bias. Each pass stands alone. Timed
turns are not used, so ours, which is given them, may come below.

Computed by a Kalman filter on the simulator's grid, with b0 and b1 as extra columns (P. de Jong,
"The diffuse Kalman filter", Annals of Statistics 19, 1991, 1073-1083, from memory), on purpose
without any code of the package's own estimator.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .cases import Case

Array = NDArray[np.float64]

LEAD_S = 20.0
"""The filter begins this long before the first fix where the phone lags."""
DEGREE_M = 111_200.0


@dataclass(frozen=True, slots=True)
class Best:
    """Posterior mean and standard deviation of the ground covered. [m], shape (passes,)"""

    mean_m: Array
    std_m: Array


G, W, SLOW, FAST, DRIVEN, INNER, POLE1, POLE2, CORRELATED, BIAS, D = range(11)
"""DRIVEN is the Gauss-Markov process that the fast error smooths."""
STATES = 11


def ramp(case: Case, time_s: Array) -> Array:
    """r(t): the share of the working speed that is driven, wander apart."""
    p, motion = case.simulated, case.simulated.motion
    rise_s = motion.speed_m_s / motion.acceleration_m_s2
    out = np.ones_like(time_s)
    path = p.day.path
    for stood, mark, side in (
        (p.truth.stood_start, p.truth.start_s, 1.0),
        (p.truth.stood_end, p.truth.end_s, -1.0),
    ):
        if stood:
            out = np.minimum(out, np.clip(side * (time_s - mark) / rise_s, 0.0, 1.0))
        else:  # from and to the slower driving on the headland
            share = float(np.interp(mark, path.time_s, path.speed_m_s)) / motion.speed_m_s
            share = min(1.0, share)
            out = np.minimum(out, np.clip(share + side * (time_s - mark) / rise_s, share, 1.0))
    for begin, end in p.truth.mid_stops:
        out = np.minimum(out, np.clip(np.maximum(begin - time_s, time_s - end) / rise_s, 0.0, 1.0))
    return out


def smoothed(std: float, time_s: float, rise_s: float, step_s: float) -> tuple[Array, Array]:
    """Stationary covariance and transition, (2, 2) each, of a Gauss-Markov process after a
    one-pole low-pass filter, of that standard deviation, and of the process before the filter."""
    a = np.exp(-step_s / time_s)
    if rise_s == 0:  # nothing is smoothed: the first is the process itself
        return np.diag([std**2, 0.0]), np.diag([a, 1.0])
    b = np.exp(-step_s / rise_s)
    c = time_s * (a - b) / (time_s - rise_s)
    covariance = std**2 * np.array([[1.0, 1.0], [1.0, 1 + rise_s / time_s]])
    return covariance, np.array([[b, c], [0.0, a]])


def bound(cases: Sequence[Case]) -> Best:
    """The bound of each pass of one day, and the estimate that reaches it."""
    drawn, motion = cases[0].simulated.phone, cases[0].simulated.motion
    scenario = cases[0].simulated.day.scenario
    lag, whole = drawn.lag_s > 0, scenario.phone.whole_seconds
    dt = 0.1 if lag or drawn.rate_hz > 5 else 0.2 if drawn.rate_hz > 2 else 0.5
    passes = len(cases)
    lead = LEAD_S if lag else 0.0
    # all passes begin at a whole second, where the simulator draws new white noise inside
    first = [np.floor(min(c.time_s[0], c.start_s) - lead) for c in cases]
    last = [max(c.time_s[-1] + whole * 0.5, c.end_s) for c in cases]
    steps = int(np.ceil(max(b - a for a, b in zip(first, last, strict=True)) / dt)) + 1
    clock = np.arange(steps) * dt

    r = np.zeros((steps, passes))
    inside = np.zeros((steps, passes))
    known = np.zeros((steps, passes))
    data = np.zeros((steps, passes))
    noise = np.full((steps, passes), np.inf)
    speed = np.zeros((steps, passes))
    heard = np.zeros((steps, passes), dtype=bool)
    factor = np.empty(passes)
    v = motion.speed_m_s
    for k, c in enumerate(cases):
        time = first[k] + clock
        r[:, k] = ramp(c, time - dt / 2)
        overlap = np.minimum(time, c.end_s) - np.maximum(time - dt, c.start_s)
        inside[:, k] = np.clip(overlap / dt, 0, 1)
        path = c.simulated.day.path
        angle = np.radians(c.simulated.truth.axis_deg)
        axis = np.array([np.sin(angle), np.cos(angle)])
        true_along = np.interp(time, path.time_s, axis[0] * path.east_m + axis[1] * path.north_m)
        ends = np.interp(
            [c.start_s, c.end_s], path.time_s, axis[0] * path.east_m + axis[1] * path.north_m
        )
        factor[k] = c.ground_m / (ends[1] - ends[0])
        if c.simulated.truth.stood_start:  # the way to the pass is known
            before = time <= c.simulated.truth.start_s
            known[1:, k] = np.where(before[1:], np.diff(true_along), 0.0)
        index = np.round((c.time_s + whole * 0.5 - first[k]) / dt).astype(int)
        used = ~(c.shifted | c.repeated)
        at = index[used]
        data[at, k] = (c.east_m * axis[0] + c.north_m * axis[1] - axis @ c.corrected_m)[used]
        data[at, k] -= true_along[0]
        rounded = drawn.coordinate_step_deg * DEGREE_M / np.sqrt(12)
        narrow = np.cos(np.radians(c.latitude_deg[0]))
        rounding = (rounded * narrow * axis[0]) ** 2 + (rounded * axis[1]) ** 2
        within = (v * r[at, k]) ** 2 / 12 if whole else 0.0
        noise[at, k] = drawn.white_m**2 + rounding + within
        if scenario.phone.doppler is not None:
            ok = r[index, k] > 0.95
            heard[index[ok], k] = True
            high = (drawn.doppler_white_m_s**2 + drawn.doppler_correlated_m_s**2) / (2 * v)
            speed[index[ok], k] = c.speed_m_s[ok] - high
    doppler_noise = drawn.doppler_white_m_s**2 + 0.01**2 / 12

    def kept(time_s: float) -> float:
        return float(np.exp(-dt / time_s))

    variances = {
        W: (motion.speed_variation**2, kept(motion.speed_variation_time_s)),
        SLOW: (drawn.slow_m**2, kept(drawn.slow_time_s)),
        CORRELATED: (drawn.doppler_correlated_m_s**2, kept(drawn.doppler_correlation_s)),
    }
    per_second = round(1 / dt)
    a = float(np.exp(-dt * drawn.poles / drawn.lag_s)) if lag else 0.0
    place = (POLE2 if drawn.poles == 2 else POLE1) if lag else None

    cov = np.zeros((passes, STATES, STATES))
    for state, (variance, _) in variances.items():
        cov[:, state, state] = variance
    pair = np.ix_([FAST, DRIVEN], [FAST, DRIVEN])
    fast_covariance, fast_step = smoothed(drawn.fast_m, drawn.fast_time_s, drawn.rise_s, dt)
    cov[:, *pair] = fast_covariance
    cov[:, BIAS, BIAS] = 0.02**2 / 3
    cov[:, INNER, INNER] = drawn.inner_white_m**2
    inputs = np.zeros(STATES)
    inputs[[G, SLOW, FAST, INNER]] = 1.0
    spread = np.eye(STATES)  # the phone's filter starts at what it is fed
    if lag:
        spread[POLE1] = spread[POLE2] = inputs
    cov = spread @ cov @ spread.T
    mean = np.zeros((passes, STATES, 3))  # columns: data, b0, b1
    mean[:, [G, POLE1, POLE2], 1] = 1.0
    gram = np.zeros((passes, 3, 3))

    def observe(row: Array, value: Array, variance: Array, seen: Array) -> None:
        nonlocal mean, cov
        gain = cov @ row
        total = np.where(seen, gain @ row + variance, np.inf)
        gain = gain / total[:, None]
        innovation = value - mean.transpose(0, 2, 1) @ row
        gram[:] += innovation[:, :, None] * innovation[:, None] / total[:, None, None]
        mean = mean + gain[:, :, None] * innovation[:, None]
        cov = cov - gain[:, :, None] * (row @ cov)[:, None]

    base = np.eye(STATES)
    added = np.zeros((STATES, STATES))
    for state, (variance, keep) in variances.items():
        base[state, state] = keep
        added[state, state] = variance * (1 - keep**2)
    base[pair] = fast_step
    added[pair] = fast_covariance - fast_step @ fast_covariance @ fast_step.T
    at_place = np.zeros(STATES)
    at_place[inputs > 0 if place is None else [place]] = 1.0
    if place is None:
        at_place[INNER] = 0.0
    by_doppler = np.zeros(STATES)
    by_doppler[[CORRELATED, BIAS]] = 1.0
    by_doppler[W] = v  # r is near 1 wherever speeds are used
    phone = np.eye(STATES)
    if lag:  # each pole takes in what the one before it holds now
        phone[POLE1] = (1 - a) * inputs
        phone[POLE1, POLE1] = a
        phone[POLE2] = (1 - a) * phone[POLE1]
        phone[POLE2, POLE2] = a
    for t in range(steps):
        if t:
            f = np.broadcast_to(base, (passes, STATES, STATES)).copy()
            middle = (1 + base[W, W]) / 2
            f[:, G, W] = v * r[t] * dt * middle
            f[:, D, W] = f[:, G, W] * inside[t]
            q = added.copy()
            if lag and t % per_second == 0:
                f[:, INNER, INNER] = 0.0
                q[INNER, INNER] = drawn.inner_white_m**2
            moved = f @ mean
            moved[:, G, 0] += known[t]
            moved[:, G, 2] += r[t] * dt
            moved[:, D, 2] += r[t] * dt * inside[t]
            mean = phone @ moved
            cov = phone @ (f @ cov @ f.transpose(0, 2, 1) + q) @ phone.T
        seen = np.isfinite(noise[t])
        if seen.any():
            value = np.zeros((passes, 3))
            value[:, 0] = np.where(seen, data[t], 0.0)
            observe(at_place, value, np.where(seen, noise[t], 1.0), seen)
        if heard[t].any():
            value = np.zeros((passes, 3))
            value[:, 0], value[:, 2] = speed[t], -r[t]
            observe(by_doppler, value, np.full(passes, doppler_noise), heard[t])
    r_b = gram[:, 1:, 1:]
    reach = mean[:, D, 1:]
    # the columns hold how the prediction moves with b0 and b1; data less columns·b is unbiased
    solved = np.linalg.solve(r_b, gram[:, 1:, :1])[:, :, 0]
    spread_b = np.linalg.solve(r_b, reach[:, :, None])[:, :, 0]
    variance = cov[:, D, D] + (reach * spread_b).sum(axis=1)
    estimate = mean[:, D, 0] - (reach * solved).sum(axis=1)
    return Best(estimate * factor, np.sqrt(variance) * factor)
