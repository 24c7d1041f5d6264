"""The rough search: which straight legs are passes. Those that lie side by side are a field."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from .legs import (
    EVEN_FASTER_M_S,
    FASTEST_M_S,
    SHORTEST_M,
    Grid,
    Leg,
    grid_of,
    legs_along,
    main_directions,
    under_way,
)
from .resampling import PlaneTrack

Array = NDArray[np.float64]

USUAL_M_S = 1.1
"""Up to here any speed is usual for sowing; above, a slow drive grows likelier (judgement)."""
NEXT_BED_M = (20.0, 15.0)
"""Runs of a field lie at most so far apart: position error, and each bed between them."""
LEAST_FAST_FIELD = 3
"""So many legs side by side, and twice the way of the slower ones, make a field of fast driving:
a drive leads there and back."""
FAST_M_S = 2.2
"""Working speeds that may be those of a slow drive."""
ONE_BED = 1.12
"""A longer leg than so many usual ones, driven fast, is a bed and the drive that leads on."""
MOST_LONE_LEGS = 8
"""So many legs are looked at closely where a recording may hold one pass only."""


def candidate_legs(fixes: PlaneTrack) -> list[list[Leg]]:
    """Straight legs at a common working speed, in order of time.

    One list where legs lie side by side; else some lists of one leg each, the likeliest first, of
    which at most one is a pass.
    """
    grid = grid_of(fixes)
    if grid is None:
        return []
    families = _families(grid, FASTEST_M_S)
    if families and len(families[0]) >= LEAST_FAST_FIELD:
        # position error puts some legs of a field driven at nearly this speed above it
        limit = min(_too_fast(_working_speed(families[0])), EVEN_FASTER_M_S)
        families = _families(grid, limit) if limit > FASTEST_M_S else families
    legs = _fast_field(grid, families) or (families[0] if families else [])
    legs = _one_bed_each(grid, legs)
    if not legs:
        return []
    if len(legs) < 2:
        return [[leg] for leg in _lone_legs(grid)]
    working = _working_speed(legs)
    # other fields of the day lie before or after this one
    waiting = [(grid.time_s[0], legs[0].begin_s), (legs[-1].end_s, grid.time_s[-1])]
    while waiting:
        begin, end = waiting.pop()
        rest = grid.between(begin, end)
        if len(rest.time_s) < 20:
            continue
        more = next(iter(_families(rest, _too_fast(working))), [])
        if len(more) > 1 and abs(np.log(_working_speed(more) / working)) < np.log(1.3):
            legs = legs + more
            waiting += [(begin, more[0].begin_s), (more[-1].end_s, end)]
    return [sorted(legs, key=lambda leg: leg.begin_s)]


def _fast_field(grid: Grid, families: list[list[Leg]]) -> list[Leg]:
    """A field driven faster than usual, empty where the usual search holds the likelier one."""
    slow_m = sum(leg.length_m for leg in families[0]) if families else 0.0
    fields = [f for f in _families(grid, EVEN_FASTER_M_S) if len(f) >= LEAST_FAST_FIELD]
    best = max(fields, key=lambda f: sum(leg.length_m for leg in f), default=[])
    return best if sum(leg.length_m for leg in best) > 2 * slow_m else []


def _one_bed_each(grid: Grid, legs: list[Leg]) -> list[Leg]:
    """The legs of a field, those cut to one bed that were driven as fast as the drive home.

    Then the speed does not tell a bed from the drive that leads on in line; the length does.
    """
    if len(legs) < LEAST_FAST_FIELD or _working_speed(legs) < FAST_M_S:
        return legs
    usual_m = float(np.median([leg.length_m for leg in legs]))
    return _with_cropped(grid, legs, [leg for leg in legs if leg.length_m < ONE_BED * usual_m])


def _lone_legs(grid: Grid) -> list[Leg]:
    """The likeliest legs where none lie side by side, each along its own direction."""
    rough = [leg for angle in main_directions(grid) for leg in legs_along(grid, angle, FASTEST_M_S)]
    kept: list[Leg] = []
    for leg in sorted(rough, key=lone_score, reverse=True):
        again = legs_along(grid, _direction([leg]), FASTEST_M_S)
        own = max(again, key=leg.overlap, default=leg)
        if own.length_m >= SHORTEST_M and all(own.overlap(other) < 0.8 for other in kept):
            kept.append(own)
        if len(kept) == MOST_LONE_LEGS:
            break
    return kept


def lone_score(leg: Leg) -> float:
    """How much a lone leg looks like a pass by speed and length: roads have long straights too."""
    return float(_usual(np.array(leg.speed_m_s)) * np.sqrt(leg.length_m))


def _families(grid: Grid, fastest_m_s: float) -> list[list[Leg]]:
    """Legs by direction, the likeliest field first; lone legs one by one if there is no field."""
    directions = main_directions(grid, fastest_m_s)
    fastest = fastest_m_s
    families: list[list[Leg]] = []
    for _ in range(3):
        everything = [legs_along(grid, angle, fastest) for angle in directions]
        families = [_with_cropped(grid, legs, side_by_side(legs)) for legs in everything if legs]
        if not families:
            return []
        directions = [_direction(family) for family in families]
        families.sort(key=_family_score, reverse=True)
        if len(families[0]) < 2:
            families = [[leg] for family in families for leg in family]
            families.sort(key=_family_score, reverse=True)
        fastest = min(fastest_m_s, _too_fast(_working_speed(families[0])))
    return families


def _too_fast(working_m_s: float) -> float:
    """A speed that is not the working speed with some noise any more. [m/s]"""
    return max(1.4 * working_m_s, working_m_s + 0.6)


def _family_score(family: list[Leg]) -> float:
    """Length covered side by side at a usual speed; many short legs before one long one. [m]"""
    length = np.array([leg.length_m for leg in family])
    speed = np.array([leg.speed_m_s for leg in family])
    return float(length @ _usual(speed) * np.sqrt(len(family)))


def _usual(speed_m_s: Array) -> Array:
    """How usual a speed is for sowing, up to 1. Slow always is; fast may be a drive."""
    faster = np.log(np.maximum(speed_m_s / USUAL_M_S, 1.0)) / 0.4
    return np.asarray(np.exp(-0.5 * faster**2))


def side_by_side(legs: list[Leg]) -> list[Leg]:
    """Those legs of one direction that lie side by side with most of it, at a common speed."""
    if len(legs) < 2:
        return legs
    low = np.array([min(leg.along_m) for leg in legs])
    high = np.array([max(leg.along_m) for leg in legs])
    length = high - low
    shared = np.minimum(high[:, None], high) - np.maximum(low[:, None], low)
    alike = shared > 0.5 * np.maximum(length[:, None], length)
    across = np.array([leg.across_m for leg in legs])
    order = np.arange(len(legs))
    reach = NEXT_BED_M[0] + NEXT_BED_M[1] * np.abs(order[:, None] - order)
    alike &= np.abs(across[:, None] - across) < reach
    speed = np.array([leg.speed_m_s for leg in legs])
    alike &= np.abs(np.log(speed[:, None] / speed)) < np.log(1.5)
    weight = (alike @ (length * _usual(speed))) * np.sqrt(alike.sum(axis=1))
    best = int(np.argmax(weight * (1 + 1e-9 * length)))
    kept = np.flatnonzero(alike[best])
    after, before = kept[kept > best], kept[kept < best][::-1]
    chosen = [best, *_near_the_last(across, best, after), *_near_the_last(across, best, before)]
    return [legs[k] for k in sorted(chosen)]


def _near_the_last(across: Array, last: int, candidates: NDArray[np.intp]) -> list[int]:
    """Those candidates that lie next to the leg before them, by place; drives do not."""
    chosen: list[int] = []
    skipped = 1
    for k in candidates.tolist():
        if abs(across[k] - across[last]) < NEXT_BED_M[0] + NEXT_BED_M[1] * skipped:
            chosen.append(k)
            last, skipped = k, 1
        else:
            skipped += 1
    return chosen


def _with_cropped(grid: Grid, legs: list[Leg], family: list[Leg]) -> list[Leg]:
    """The family, and legs over the same beds that were driven on into the road or have gaps.

    A leg of the same direction that lies among the family's and covers nearly all of its usual
    range is cut to that range.
    """
    if len(family) < 3:
        return family
    low = float(np.median([min(leg.along_m) for leg in family]))
    high = float(np.median([max(leg.along_m) for leg in family]))
    working = _working_speed(family)
    axis = family[0].axis
    if family[0].along_m[1] < family[0].along_m[0]:
        axis = axis.opposite  # ranges are kept along one sense for both directions of travel
    along, across = axis.along(*grid.xy_m), axis.across(*grid.xy_m)
    added = []
    own = set(family)
    for leg in legs:
        if leg in own:
            continue
        shared = min(max(leg.along_m), high) - max(min(leg.along_m), low)
        if shared < 0.7 * (high - low):
            continue
        first = int(np.searchsorted(grid.time_s, leg.begin_s))
        last = int(np.searchsorted(grid.time_s, leg.end_s, side="right"))
        inside = along[first:last]
        at = first + np.flatnonzero((inside > low) & (inside < high))
        if len(at) < 3:
            continue
        place = float(np.median(across[at]))
        aside = min(abs(place - other.across_m) for other in family)
        pace = under_way(grid.speed_m_s[at])
        if aside < sum(NEXT_BED_M) and 0.5 < pace / working < 1.4:
            added.append(
                replace(
                    leg,
                    begin_s=float(grid.time_s[at[0]]),
                    end_s=float(grid.time_s[at[-1]]),
                    along_m=(float(along[at[0]]), float(along[at[-1]])),
                    across_m=place,
                    speed_m_s=working,
                )
            )
    return sorted(family + added, key=lambda leg: leg.begin_s)


def _direction(family: list[Leg]) -> float:
    """The direction (mod π) that a family's legs really have: median over them, long ones twice."""
    axis = family[0].axis
    length = np.array([leg.length_m for leg in family])
    drift = np.array([leg.drift_rad for leg in family])
    drift = np.concatenate([drift, drift[length >= np.median(length)]])
    return float((np.arctan2(axis.north, axis.east) - np.median(drift)) % np.pi)


def _working_speed(legs: list[Leg]) -> float:
    """Median speed, each leg weighted by its duration. [m/s]"""
    speed = np.array([leg.speed_m_s for leg in legs])
    order = np.argsort(speed)
    reached = np.cumsum(np.array([leg.end_s - leg.begin_s for leg in legs])[order])
    return float(speed[order][np.searchsorted(reached, reached[-1] / 2)])
