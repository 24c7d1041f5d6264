"""Standing still on the way along a pass."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .position_error import Wander
from .resampling import Points
from .straight_segments import Run

Array = NDArray[np.float64]

_CHORDS_S = np.arange(4, 26, 2)
SPEED_SPREAD = 0.1
"""Spread of the speed between the passes of a day, as a share (judgement)."""
_THIRDS = np.linspace(0.25, 0.75, 4)


def cruising_speeds(points: Points, runs: list[Run], wander: Wander) -> list[float]:
    """Speed of each run in the middle of its way, away from ramps and standing. [m/s]

    The chords of the rough search are long against a short bed and so take in the standing at its
    ends. Here the middle half of the way is timed, in thirds of which the median counts, so that a
    stop on the way does no harm. What the phone's wander blurs is filled up from the other passes
    of the day: mean of two normal variables (Gelman et al., *Bayesian Data Analysis*, 3rd ed., 2.5,
    from memory).
    """
    log_speed, variance = np.zeros(len(runs)), np.zeros(len(runs))
    keep = ~points.jump
    time = points.time_s[keep]
    for k, run in enumerate(runs):
        inside = (time >= run.begin_s) & (time <= run.end_s)
        along = run.axis.along(*points.xy_m)[keep][inside]
        if len(along) < 2:
            log_speed[k], variance[k] = np.log(run.speed_m_s), 1.0
            continue
        reached = np.maximum.accumulate(along)
        places = reached[0] + _THIRDS * (reached[-1] - reached[0])
        at = np.interp(places, reached, time[inside])
        took = float(np.median(np.diff(at)))
        way = float(places[1] - places[0])
        log_speed[k] = np.log(way / max(took, 1e-3))
        variance[k] = wander.step_m2(np.array(took)) / way**2
    weight = 1 / (variance + SPEED_SPREAD**2)
    order = np.argsort(log_speed)
    reached = np.cumsum(weight[order])
    usual = float(log_speed[order][np.searchsorted(reached, reached[-1] / 2)])
    own = SPEED_SPREAD**2 * weight
    return [float(v) for v in np.exp(own * log_speed + (1 - own) * usual)]


EITHER_SIDE_S = 8.0
"""Of long standing so much is kept on either side."""


def _chord(points: Points, speed_m_s: float, wander: Wander) -> float:
    """Duration of chords long enough for the phone's wander. [s]"""
    error = np.sqrt(wander.step_m2(_CHORDS_S.astype(float))) / _CHORDS_S
    good = np.flatnonzero(error < 0.18 * speed_m_s)
    chord = float(_CHORDS_S[good[0]] if len(good) else _CHORDS_S[-1])
    return max(chord, 2.0 * float(np.median(np.diff(points.time_s))))


def forward_speed(points: Points, run: Run, wander: Wander) -> tuple[Array, Array, float]:
    """Speed along the run on a grid of 1 s, by chords long enough for the phone's wander.

    Returns the instants, the speeds, and the duration of the chords.
    """
    keep = ~points.jump
    time = points.time_s[keep]
    along = run.axis.along(*points.xy_m)[keep]
    chord = _chord(points, run.speed_m_s, wander)
    grid = np.arange(run.begin_s, run.end_s)
    ahead = np.interp(grid + chord / 2, time, along) - np.interp(grid - chord / 2, time, along)
    return grid, ahead / chord, chord


def without_long_standing(points: Points, speed_m_s: float, wander: Wander) -> Points:
    """The points without the middle of long standing.

    How long the tractor stood says nothing about where: a long pause on the headland must not
    outweigh the line of the bed by its many fixes alone.
    """
    keep = ~points.jump
    time = points.time_s
    chord = _chord(points, speed_m_s, wander)
    ahead, behind = (
        np.stack([np.interp(time + h, time[keep], row[keep]) for row in points.xy_m])
        for h in (chord / 2, -chord / 2)
    )
    slow = np.hypot(*(ahead - behind)) < 0.4 * speed_m_s * chord
    dropped = np.zeros(len(time), dtype=bool)
    bounds = np.flatnonzero(np.diff(np.concatenate([[0], slow.astype(np.int8), [0]])))
    for a, b in bounds.reshape(-1, 2).tolist():
        inside = slice(a, b)
        dropped[inside] = (time[inside] > time[a] + EITHER_SIDE_S) & (
            time[inside] < time[b - 1] - EITHER_SIDE_S
        )
    return points.taken(~dropped)


def stops_on_the_way(points: Points, run: Run, wander: Wander) -> list[tuple[float, float]]:
    """Standing between the two ends of a run, as (from, to); short of 3 s it goes unseen.

    Standing shows as a hole in the speed; its edges are where half the working speed is crossed.
    Standing within 16 m of a rough end (a third of the run, if that is shorter) is left to the end.
    """
    grid, speed, _ = forward_speed(points, run, wander)
    if len(grid) < 5:
        return []
    along = run.axis.along(*points.xy_m)
    edge = min(16.0, run.length_m / 3)
    first, last = np.interp([run.begin_s, run.end_s], points.time_s, along)
    slow = speed < 0.5 * run.speed_m_s
    bounds = np.flatnonzero(np.diff(np.concatenate([[0], slow.astype(np.int8), [0]])))
    holes = [
        (float(grid[a]), float(grid[b - 1]))
        for a, b in bounds.reshape(-1, 2).tolist()
        if speed[a:b].min() < 0.25 * run.speed_m_s and b - a >= 3
    ]
    place = [np.interp(hole, points.time_s, along) for hole in holes]
    return [
        hole
        for hole, (one, two) in zip(holes, place, strict=True)
        if min(one, two) - first > edge and last - max(one, two) > edge
    ]
