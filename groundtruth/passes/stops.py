"""Standing still on the way along a pass."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .runs import Run
from .thinned import Points
from .wander import Wander

Array = NDArray[np.float64]

_CHORDS_S = np.arange(4, 26, 2)


def forward_speed(points: Points, run: Run, wander: Wander) -> tuple[Array, Array, float]:
    """Speed along the run on a grid of 1 s, by chords long enough for the phone's wander.

    Returns the instants, the speeds, and the duration of the chords.
    """
    keep = ~points.jump
    time = points.time_s[keep]
    along = (run.axis[0] * points.xy_m[0] + run.axis[1] * points.xy_m[1])[keep]
    error = np.sqrt(wander.step_m2(_CHORDS_S.astype(float))) / _CHORDS_S
    good = np.flatnonzero(error < 0.18 * run.speed_m_s)
    chord = float(_CHORDS_S[good[0]] if len(good) else _CHORDS_S[-1])
    chord = max(chord, 2.0 * float(np.median(np.diff(points.time_s))))
    grid = np.arange(run.begin_s, run.end_s)
    ahead = np.interp(grid + chord / 2, time, along) - np.interp(grid - chord / 2, time, along)
    return grid, ahead / chord, chord


def stops_on_the_way(points: Points, run: Run, wander: Wander) -> list[tuple[float, float]]:
    """Standing between the two ends of a run, as (from, to); short of 3 s it goes unseen.

    Standing shows as a hole in the speed; its edges are where half the working speed is crossed.
    Standing within 16 m of a rough end (a third of the run, if that is shorter) is left to the end.
    """
    grid, speed, _ = forward_speed(points, run, wander)
    if len(grid) < 5:
        return []
    along = run.axis[0] * points.xy_m[0] + run.axis[1] * points.xy_m[1]
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
