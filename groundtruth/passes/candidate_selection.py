"""The rough search: which straight runs are passes. Those that lie side by side are a field."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from .resampling import Points
from .straight_segments import (
    FASTEST_M_S,
    SHORTEST_M,
    Grid,
    Run,
    grid_of,
    main_directions,
    runs_along,
    under_way,
)

Array = NDArray[np.float64]

USUAL_M_S = 1.1
"""Up to here any speed is usual for sowing; above, a slow drive grows likelier (judgement)."""
NEXT_BED_M = (20.0, 15.0)
"""Runs of a field lie at most so far apart: position error, and each bed between them."""
MOST_LONE_RUNS = 8
"""So many runs are looked at closely where a recording may hold one pass only."""


def straight_runs(points: Points) -> list[list[Run]]:
    """Straight runs at a common working speed, in order of time.

    One list where runs lie side by side; else some lists of one run each, the likeliest first, of
    which at most one is a pass.
    """
    grid = grid_of(points)
    if grid is None:
        return []
    families = _families(grid, FASTEST_M_S)
    if not families:
        return []
    runs = families[0]
    if len(runs) < 2:
        return [[run] for run in _lone_runs(grid)]
    working = _working_speed(runs)
    # other fields of the day lie before or after this one
    waiting = [(grid.time_s[0], runs[0].begin_s), (runs[-1].end_s, grid.time_s[-1])]
    while waiting:
        begin, end = waiting.pop()
        rest = grid.between(begin, end)
        if len(rest.time_s) < 20:
            continue
        more = next(iter(_families(rest, _too_fast(working))), [])
        if len(more) > 1 and abs(np.log(_working_speed(more) / working)) < np.log(1.3):
            runs = runs + more
            waiting += [(begin, more[0].begin_s), (more[-1].end_s, end)]
    return [sorted(runs, key=lambda run: run.begin_s)]


def _lone_runs(grid: Grid) -> list[Run]:
    """The likeliest runs where none lie side by side, each along its own direction."""
    rough = [run for angle in main_directions(grid) for run in runs_along(grid, angle, FASTEST_M_S)]
    kept: list[Run] = []
    for run in sorted(rough, key=lone_score, reverse=True):
        again = runs_along(grid, _direction([run]), FASTEST_M_S)
        own = max(again, key=run.overlap, default=run)
        if own.length_m >= SHORTEST_M and all(own.overlap(other) < 0.8 for other in kept):
            kept.append(own)
        if len(kept) == MOST_LONE_RUNS:
            break
    return kept


def lone_score(run: Run) -> float:
    """How much a lone run looks like a pass by speed and length: roads have long straights too."""
    return float(_usual(np.array(run.speed_m_s)) * np.sqrt(run.length_m))


def _families(grid: Grid, fastest_m_s: float) -> list[list[Run]]:
    """Runs by direction, the likeliest field first; lone runs one by one if there is no field."""
    directions = main_directions(grid)
    fastest = fastest_m_s
    families: list[list[Run]] = []
    for _ in range(3):
        everything = [runs_along(grid, angle, fastest) for angle in directions]
        families = [_with_cropped(grid, runs, side_by_side(runs)) for runs in everything if runs]
        if not families:
            return []
        directions = [_direction(family) for family in families]
        families.sort(key=_family_score, reverse=True)
        if len(families[0]) < 2:
            families = [[run] for family in families for run in family]
            families.sort(key=_family_score, reverse=True)
        fastest = min(fastest_m_s, _too_fast(_working_speed(families[0])))
    return families


def _too_fast(working_m_s: float) -> float:
    """A speed that is not the working speed with some noise any more. [m/s]"""
    return max(1.4 * working_m_s, working_m_s + 0.6)


def _family_score(family: list[Run]) -> float:
    """Length covered side by side at a usual speed; many short runs before one long one. [m]"""
    length = np.array([run.length_m for run in family])
    speed = np.array([run.speed_m_s for run in family])
    return float(length @ _usual(speed) * np.sqrt(len(family)))


def _usual(speed_m_s: Array) -> Array:
    """How usual a speed is for sowing, up to 1. Slow always is; fast may be a drive."""
    faster = np.log(np.maximum(speed_m_s / USUAL_M_S, 1.0)) / 0.4
    return np.asarray(np.exp(-0.5 * faster**2))


def side_by_side(runs: list[Run]) -> list[Run]:
    """Those runs of one direction that lie side by side with most of it, at a common speed."""
    if len(runs) < 2:
        return runs
    low = np.array([min(run.along_m) for run in runs])
    high = np.array([max(run.along_m) for run in runs])
    length = high - low
    shared = np.minimum(high[:, None], high) - np.maximum(low[:, None], low)
    alike = shared > 0.5 * np.maximum(length[:, None], length)
    across = np.array([run.across_m for run in runs])
    order = np.arange(len(runs))
    reach = NEXT_BED_M[0] + NEXT_BED_M[1] * np.abs(order[:, None] - order)
    alike &= np.abs(across[:, None] - across) < reach
    speed = np.array([run.speed_m_s for run in runs])
    alike &= np.abs(np.log(speed[:, None] / speed)) < np.log(1.5)
    weight = (alike @ (length * _usual(speed))) * np.sqrt(alike.sum(axis=1))
    best = int(np.argmax(weight * (1 + 1e-9 * length)))
    kept = np.flatnonzero(alike[best])
    after, before = kept[kept > best], kept[kept < best][::-1]
    chosen = [best, *_near_the_last(across, best, after), *_near_the_last(across, best, before)]
    return [runs[k] for k in sorted(chosen)]


def _near_the_last(across: Array, last: int, candidates: NDArray[np.intp]) -> list[int]:
    """Those candidates that lie next to the run before them, by place; drives do not."""
    chosen: list[int] = []
    skipped = 1
    for k in candidates.tolist():
        if abs(across[k] - across[last]) < NEXT_BED_M[0] + NEXT_BED_M[1] * skipped:
            chosen.append(k)
            last, skipped = k, 1
        else:
            skipped += 1
    return chosen


def _with_cropped(grid: Grid, runs: list[Run], family: list[Run]) -> list[Run]:
    """The family, and runs over the same beds that were driven on into the road or have gaps.

    A run of the same direction that lies among the family's and covers nearly all of its usual
    range is cut to that range.
    """
    if len(family) < 3:
        return family
    low = float(np.median([min(run.along_m) for run in family]))
    high = float(np.median([max(run.along_m) for run in family]))
    working = _working_speed(family)
    axis = family[0].axis
    if family[0].along_m[1] < family[0].along_m[0]:
        axis = axis.opposite  # ranges are kept along one sense for both directions of travel
    along, across = axis.along(*grid.xy_m), axis.across(*grid.xy_m)
    added = []
    for run in runs:
        if run in family:
            continue
        shared = min(max(run.along_m), high) - max(min(run.along_m), low)
        if shared < 0.7 * (high - low):
            continue
        inside = (grid.time_s >= run.begin_s) & (grid.time_s <= run.end_s)
        at = np.flatnonzero(inside & (along > low) & (along < high))
        if len(at) < 3:
            continue
        place = float(np.median(across[at]))
        aside = min(abs(place - other.across_m) for other in family)
        pace = under_way(grid.speed_m_s[at])
        if aside < sum(NEXT_BED_M) and 0.5 < pace / working < 1.4:
            added.append(
                replace(
                    run,
                    begin_s=float(grid.time_s[at[0]]),
                    end_s=float(grid.time_s[at[-1]]),
                    along_m=(float(along[at[0]]), float(along[at[-1]])),
                    across_m=place,
                    speed_m_s=working,
                )
            )
    return sorted(family + added, key=lambda run: run.begin_s)


def _direction(family: list[Run]) -> float:
    """The direction (mod π) that a family's runs really have: median over them, long ones twice."""
    axis = family[0].axis
    length = np.array([run.length_m for run in family])
    drift = np.array([run.drift_rad for run in family])
    drift = np.concatenate([drift, drift[length >= np.median(length)]])
    return float((np.arctan2(axis.north, axis.east) - np.median(drift)) % np.pi)


def _working_speed(runs: list[Run]) -> float:
    """Median speed, each run weighted by its duration. [m/s]"""
    speed = np.array([run.speed_m_s for run in runs])
    order = np.argsort(speed)
    reached = np.cumsum(np.array([run.end_s - run.begin_s for run in runs])[order])
    return float(speed[order][np.searchsorted(reached, reached[-1] / 2)])
