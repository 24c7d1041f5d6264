"""Ways to tell how far a pass went: what people use, and ours.

Each takes a `Case` and returns the ground between the marks in m and, where the method states one,
its standard uncertainty (else NaN).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from groundtruth.estimator import ground_covered, height_line, make_stretch, slope_factors
from groundtruth.estimator.pass_coordinates import axis_of

from .cases import Case

Array = NDArray[np.float64]
Answer = tuple[float, float]
NOT_STATED = float("nan")


def sum_of_segments(case: Case) -> Answer:
    """Length of the line from fix to fix."""
    k = case.between
    return float(np.hypot(np.diff(case.east_m[k]), np.diff(case.north_m[k])).sum()), NOT_STATED


def smoothed_sum(case: Case, window_s: float = 11.0) -> Answer:
    """Sum of segments after a moving average."""
    low = np.searchsorted(case.time_s, case.time_s - window_s / 2, side="left")
    high = np.searchsorted(case.time_s, case.time_s + window_s / 2, side="right")

    def mean(values: Array) -> Array:
        total = np.concatenate([[0.0], np.cumsum(values)])
        return (total[high] - total[low]) / (high - low)

    k = case.between
    east, north = mean(case.east_m)[k], mean(case.north_m)[k]
    return float(np.hypot(np.diff(east), np.diff(north)).sum()), NOT_STATED


def fix_to_fix(case: Case) -> Answer:
    """Straight from the fix nearest in time to the first mark to the one nearest to the second."""
    i = int(np.argmin(np.abs(case.time_s - case.start_s)))
    j = int(np.argmin(np.abs(case.time_s - case.end_s)))
    return float(
        np.hypot(case.east_m[j] - case.east_m[i], case.north_m[j] - case.north_m[i])
    ), NOT_STATED


def _along(case: Case) -> Array:
    return axis_of(case.east_m, case.north_m).along(case.east_m, case.north_m)


def straight_axis(case: Case, around_s: float = 5.0) -> Answer:
    """Robust straight axis; even speed between the marks, corrected at either end by the mean
    residual within ``around_s``, of standing fixes only where the tractor stood. The uncertainty
    is what scatter about the line would give if fixes erred independently."""
    along = _along(case)
    under_way = np.clip(case.time_s, case.start_s, case.end_s)
    weight = np.ones_like(along)
    for _ in range(5):
        slope, level = np.polyfit(under_way, along, 1, w=np.sqrt(weight))
        rest = along - slope * under_way - level
        scale = 1.4826 * float(np.median(np.abs(rest))) + 1e-9
        weight = np.minimum(1.0, 1.345 * scale / np.maximum(np.abs(rest), 1e-12))
    distance, variance = slope * (case.end_s - case.start_s), 0.0
    for mark, sign in ((case.start_s, -1), (case.end_s, 1)):
        near = np.abs(case.time_s - mark) <= around_s
        if any(mark in stop for stop in case.stops):
            near &= sign * (case.time_s - mark) >= 0
        if not near.any():
            near[int(np.argmin(np.abs(case.time_s - mark)))] = True
        distance += sign * float(rest[near].mean())
        variance += scale**2 / near.sum()
    return float(distance), float(np.sqrt(variance))


def hand_set_smoother(case: Case, noise_m: float = 3.0, acceleration_psd: float = 0.05) -> Answer:
    """Rauch-Tung-Striebel smoother of even speed with hand-set noise, along the straight axis.

    White noise of 3 m a fix and white acceleration of 0.05 m²/s³: what a programmer writes who
    believes the accuracy that the phone reports. The two ends are taken as independent.
    (H. E. Rauch, F. Tung, C. T. Striebel, AIAA Journal 3, 1965, 1445-1450, from memory.)
    """
    fixes = dict(zip(case.time_s.tolist(), _along(case).tolist(), strict=True))
    times = sorted({*fixes, case.start_s, case.end_s})
    first = fixes[float(case.time_s[0])]
    state, cov = np.array([first, 0.0]), np.diag([100.0, 4.0])
    steps, predicted, filtered = [], [], []
    for k, t in enumerate(times):
        dt = t - times[k - 1] if k else 0.0
        f = np.array([[1.0, dt], [0.0, 1.0]])
        q = acceleration_psd * np.array([[dt**3 / 3, dt**2 / 2], [dt**2 / 2, dt]])
        state, cov = f @ state, f @ cov @ f.T + q
        predicted.append((state, cov))
        steps.append(f)
        if t in fixes:
            gain = cov[:, 0] / (cov[0, 0] + noise_m**2)
            state = state + gain * (fixes[t] - state[0])
            cov = cov - np.outer(gain, cov[0])
        filtered.append((state, cov))
    smooth = {times[-1]: filtered[-1]}
    state, cov = filtered[-1]
    for k in range(len(times) - 2, -1, -1):
        ahead_state, ahead_cov = predicted[k + 1]
        back = filtered[k][1] @ steps[k + 1].T @ np.linalg.inv(ahead_cov + 1e-12 * np.eye(2))
        state = filtered[k][0] + back @ (state - ahead_state)
        cov = filtered[k][1] + back @ (cov - ahead_cov) @ back.T
        smooth[times[k]] = (state, cov)
    (a, var_a), (b, var_b) = smooth[case.start_s], smooth[case.end_s]
    return float(b[0] - a[0]), float(np.sqrt(var_a[0, 0] + var_b[0, 0]))


def doppler_integral(case: Case) -> Answer:
    """Reported speeds added up over time; taken to be white by 0.1 m/s with 0.0115 m/s of bias."""
    known = np.isfinite(case.speed_m_s)
    if known.sum() < 2:
        return NOT_STATED, NOT_STATED
    times = np.unique(np.concatenate([case.time_s[case.between], [case.start_s, case.end_s]]))
    speed = np.interp(times, case.time_s[known], case.speed_m_s[known])
    length = float(np.sum((speed[1:] + speed[:-1]) / 2 * np.diff(times)))
    span = case.end_s - case.start_s
    step = float(np.median(np.diff(times)))
    return length, float(np.hypot(0.1 * np.sqrt(span * step), 0.0115 * span))


def library_length(case: Case) -> Answer:
    """`length_2d` of the general GPX library gpxpy."""
    from gpxpy.gpx import GPXTrackPoint, GPXTrackSegment

    k = case.between
    points = [
        GPXTrackPoint(latitude=lat, longitude=lon)
        for lat, lon in zip(case.latitude_deg[k], case.longitude_deg[k], strict=True)
    ]
    return float(GPXTrackSegment(points).length_2d()), NOT_STATED


OTHERS: dict[str, Callable[[Case], Answer]] = {
    "sum of segments": sum_of_segments,
    "sum after an 11 s moving average": smoothed_sum,
    "library length (gpxpy length_2d)": library_length,
    "fix to fix": fix_to_fix,
    "straight axis, ends ±5 s": straight_axis,
    "hand-set Kalman smoother": hand_set_smoother,
    "Doppler integral": doppler_integral,
}


def ours(cases: Sequence[Case]) -> tuple[Array, Array]:
    """Ground on passes of one day and its covariance, put together as `measure` does it.

    Ends and stops are given, so that position noise and the shape of the line are all there is.
    """
    stretches = [
        make_stretch(
            c.time_s,
            c.east_m,
            c.north_m,
            c.speed_m_s,
            stops=c.stops,
            start_s=c.start_s,
            end_s=c.end_s,
            wheel=c.wheel,
        )
        for c in cases
    ]
    travel = ground_covered(stretches)
    lines = []
    for s, c in zip(stretches, cases, strict=True):
        axis_deg = s.axis.bearing_deg
        lines.append(height_line(s.along_m, np.interp(s.time_s, c.time_s, c.height_m), axis_deg))
    slopes = slope_factors(lines, travel.receiver)
    factor = np.array([s.value * w.value for s, w in zip(slopes, travel.sinuosity, strict=True)])
    distance = travel.distance_m * factor
    covariance = travel.covariance_m2 * np.outer(factor, factor)
    for shape in (slopes, travel.sinuosity):
        std = distance * np.array([f.std for f in shape])
        covariance += np.outer(std, std)
    return distance, covariance
