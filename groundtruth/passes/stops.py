"""Standing still on the way along a pass."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .legs import Leg
from .position_error import ErrorCovariance
from .resampling import PlaneTrack

Array = NDArray[np.float64]

_CHORDS_S = np.arange(4, 26, 2)
SPEED_SPREAD = 0.1
"""Spread of the speed between the passes of a day, as a share (judgement)."""
_THIRDS = np.linspace(0.25, 0.75, 4)


def cruising_speeds(
    fixes: PlaneTrack, legs: list[Leg], position_error: ErrorCovariance
) -> list[float]:
    """Speed of each leg in the middle of its way, away from ramps and standing. [m/s]

    The chords of the rough search are long against a short bed and so take in the standing at its
    ends. Here the middle half of the way is timed, in thirds of which the median counts, so that a
    stop on the way does no harm. What the error blurs is filled up from the other passes of the
    day: mean of two normal variables (Gelman et al., *Bayesian Data Analysis*, 3rd ed., 2.5, from
    memory).
    """
    log_speed, variance = np.zeros(len(legs)), np.zeros(len(legs))
    keep = ~fixes.jump
    time = fixes.time_s[keep]
    for k, leg in enumerate(legs):
        inside = (time >= leg.begin_s) & (time <= leg.end_s)
        along = leg.axis.along(*fixes.xy_m)[keep][inside]
        if len(along) < 2:
            log_speed[k], variance[k] = np.log(leg.speed_m_s), 1.0
            continue
        reached = np.maximum.accumulate(along)
        places = reached[0] + _THIRDS * (reached[-1] - reached[0])
        at = np.interp(places, reached, time[inside])
        took = float(np.median(np.diff(at)))
        way = float(places[1] - places[0])
        log_speed[k] = np.log(way / max(took, 1e-3))
        variance[k] = position_error.structure_m2(np.array(took)) / way**2
    weight = 1 / (variance + SPEED_SPREAD**2)
    order = np.argsort(log_speed)
    reached = np.cumsum(weight[order])
    usual = float(log_speed[order][np.searchsorted(reached, reached[-1] / 2)])
    own = SPEED_SPREAD**2 * weight
    return [float(v) for v in np.exp(own * log_speed + (1 - own) * usual)]


EITHER_SIDE_S = 8.0
"""Of long standing so much is kept on either side."""


def _chord(fixes: PlaneTrack, speed_m_s: float, position_error: ErrorCovariance) -> float:
    """Duration of chords long enough for the position error. [s]"""
    error = np.sqrt(position_error.structure_m2(_CHORDS_S.astype(float))) / _CHORDS_S
    good = np.flatnonzero(error < 0.18 * speed_m_s)
    chord = float(_CHORDS_S[good[0]] if len(good) else _CHORDS_S[-1])
    return max(chord, 2.0 * float(np.median(np.diff(fixes.time_s))))


def forward_speed(
    fixes: PlaneTrack, leg: Leg, position_error: ErrorCovariance
) -> tuple[Array, Array, float]:
    """Speed along the leg on a grid of 1 s, by chords long enough for the position error.

    Returns the instants, the speeds, and the duration of the chords.
    """
    keep = ~fixes.jump
    time = fixes.time_s[keep]
    along = leg.axis.along(*fixes.xy_m)[keep]
    chord = _chord(fixes, leg.speed_m_s, position_error)
    grid = np.arange(leg.begin_s, leg.end_s)
    ahead = np.interp(grid + chord / 2, time, along) - np.interp(grid - chord / 2, time, along)
    return grid, ahead / chord, chord


def without_long_stands(
    fixes: PlaneTrack, speed_m_s: float, position_error: ErrorCovariance
) -> PlaneTrack:
    """The fixes without the middle of long standing.

    How long the tractor stood says nothing about where: a long pause on the headland must not
    outweigh the line of the bed by its many fixes alone.
    """
    keep = ~fixes.jump
    time = fixes.time_s
    chord = _chord(fixes, speed_m_s, position_error)
    ahead, behind = (
        np.stack([np.interp(time + h, time[keep], row[keep]) for row in fixes.xy_m])
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
    return fixes.taken(~dropped)


def stops_on_the_way(
    fixes: PlaneTrack, leg: Leg, position_error: ErrorCovariance
) -> list[tuple[float, float]]:
    """Standing between the two ends of a leg, as (from, to); short of 3 s it goes unseen.

    Standing shows as a hole in the speed; its edges are where half the working speed is crossed.
    Standing within 16 m of a rough end (a third of the leg, if that is shorter) is left to the end.
    """
    grid, speed, _ = forward_speed(fixes, leg, position_error)
    if len(grid) < 5:
        return []
    along = leg.axis.along(*fixes.xy_m)
    edge = min(16.0, leg.length_m / 3)
    first, last = np.interp([leg.begin_s, leg.end_s], fixes.time_s, along)
    slow = speed < 0.5 * leg.speed_m_s
    bounds = np.flatnonzero(np.diff(np.concatenate([[0], slow.astype(np.int8), [0]])))
    holes = [
        (float(grid[a]), float(grid[b - 1]))
        for a, b in bounds.reshape(-1, 2).tolist()
        if speed[a:b].min() < 0.25 * leg.speed_m_s and b - a >= 3
    ]
    place = [np.interp(hole, fixes.time_s, along) for hole in holes]
    return [
        hole
        for hole, (one, two) in zip(holes, place, strict=True)
        if min(one, two) - first > edge and last - max(one, two) > edge
    ]


OTHER_SPEED, AT_LEAST_S = 1.8, 20
"""A drive that leads on in line is faster than the pass by this factor, for so long (judgement: a
real tractor gathered speed from 1.0 to 2.1 m/s over a pass, 1.4 between its halves)."""
STANDING_M_S = 0.25


def changes_of_speed(fixes: PlaneTrack, leg: Leg, position_error: ErrorCovariance) -> list[float]:
    """Instants at which the speed along a leg changes for good: a pass, and a drive on in line.

    The series of speeds is cut in two where the sum of squares about both means is least, and
    each part again (binary segmentation; Scott & Knott 1974, Biometrics 30:507, from memory).
    """
    grid, speed, _ = forward_speed(fixes, leg, position_error)
    parts, found = [(0, len(grid))], []
    while parts:
        begin, end = parts.pop()
        n = end - begin
        if n < 2 * AT_LEAST_S:
            continue
        total = np.cumsum(speed[begin:end])
        size = np.arange(1, n)
        between = (total[:-1] - total[-1] * size / n) ** 2 / (size * (n - size))
        inner = slice(AT_LEAST_S - 1, n - AT_LEAST_S)
        cut = begin + AT_LEAST_S + int(np.argmax(between[inner]))
        before, after = (float(np.median(speed[a:b])) for a, b in ((begin, cut), (cut, end)))
        slower, faster = sorted((before, after))
        if slower > STANDING_M_S and faster > OTHER_SPEED * slower:
            found.append(float(grid[cut]))
            parts += [(begin, cut), (cut, end)]
    return sorted(found)
