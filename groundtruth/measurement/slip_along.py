"""Slip on parts of a pass, where every turn has its instant, so that wet spots show.

A part is as short as the phone allows: the ground under it must be known to `MOST_STD`, else the
next longer parts are tried, and where halves are not known either nothing is said. Each part is
measured like a pass (see `travel`), between two instants at which a turn was counted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import hypot

import numpy as np
from numpy.typing import NDArray

from ..core.measured import Measured
from ..core.plane import plane_about
from ..core.result import Result, SlipPart
from ..core.run import Run
from ..core.track import Track
from ..core.turns import TurnReadings
from ..estimator import Stretch, ground_covered, make_stretch
from ..passes import Pass, find_passes
from .slip import slip_share

Array = NDArray[np.float64]

MOST_STD = 0.025
"""Relative standard uncertainty of the ground under a part above which its slip says nothing: wet
spots are slips of 5 % and more over their surroundings (common practice, no source)."""
PARTS = (8, 6, 4, 3, 2)
LEAST_TURNS = 5.0
TURN_STD = 0.02
"""Standard uncertainty of turns between two timed turns: play in the drive, the sensor's instant.
Our choice."""


def slip_along(
    run: Run, result: Result, passes: Sequence[Pass] | None = None
) -> tuple[SlipPart, ...]:
    """Slip along the passes of a run whose turns were timed one by one; empty for other runs.

    ``passes`` are those of the run's track, found here where they are not given.
    """
    readings = [r for r in run.turns.readings if r.at_each_turn]
    if not readings:
        return ()
    stretches = _stretches(run.track, result, find_passes(run.track) if passes is None else passes)
    if not stretches:
        return ()
    for parts in PARTS:
        edges = {n: np.linspace(s.start_s, s.end_s, parts + 1) for n, s in stretches.items()}
        turns = [_turns(r, e[:2]) for r in readings for e in edges.values()]
        if min(turns) < LEAST_TURNS:
            continue
        # one part of the middle stands for all of this length
        grounds = _grounds(stretches, edges, parts // 2)
        if np.median([g.relative for g in grounds.values()]) <= MOST_STD:
            found = [
                grounds if k == parts // 2 else _grounds(stretches, edges, k) for k in range(parts)
            ]
            return _parts(run, result, readings, edges, found)
    return ()


def _stretches(track: Track, result: Result, passes: Sequence[Pass]) -> dict[int, Stretch]:
    plane = plane_about(track)
    east, north = plane.to_metres(track.longitude_deg, track.latitude_deg)
    found = {}
    for number, start_s, end_s in {(p.number, p.start_s, p.end_s) for p in result.passes}:
        middle = (start_s + end_s) / 2
        at = next((p for p in passes if p.start.time_s < middle < p.end.time_s), None)
        if at is None:
            continue
        # the first and last turn lie under way, so nothing before and after is needed
        part = (track.time_s >= start_s) & (track.time_s <= end_s)
        found[number] = make_stretch(
            track.time_s[part],
            east[part],
            north[part],
            track.speed_m_s[part],
            stops=[(a, b) for a, b in at.stops if a < end_s and b > start_s],
            start_s=start_s,
            end_s=end_s,
            name=f"pass {number}",
        )
    return dict(sorted(found.items()))


def _turns(readings: TurnReadings, between: Sequence[float] | Array) -> float:
    low, high = np.interp(between, readings.time_s, readings.turns)
    return float(high - low)


def _grounds(
    stretches: dict[int, Stretch], edges: dict[int, Array], part: int
) -> dict[int, Measured]:
    """Ground under the same part of every pass, along its axis."""
    cut = [
        replace(s, start_s=float(edges[n][part]), end_s=float(edges[n][part + 1]))
        for n, s in stretches.items()
    ]
    travel = ground_covered(cut)
    std = np.sqrt(np.diag(travel.covariance_m2))
    return {
        n: Measured(float(d), float(u))
        for n, d, u in zip(stretches, travel.distance_m, std, strict=True)
    }


def _parts(
    run: Run,
    result: Result,
    readings: Sequence[TurnReadings],
    edges: dict[int, Array],
    grounds: Sequence[dict[int, Measured]],
) -> tuple[SlipPart, ...]:
    whole = {p.number: p.distance.value for p in result.passes}
    axes = {line.number: line.axis for line in result.lines}
    zero_slip = run.seeder.zero_slip_travel
    per_count = run.seeder.gear_turns_per_counted_turn
    found = []
    for number, edge in edges.items():
        total = sum(g[number].value for g in grounds)
        scale = whole[number] / total  # bow, weave, slope: what the axis leaves out
        begin = 0.0
        for k, ground_of in enumerate(grounds):
            ground = ground_of[number].scaled(scale)
            line = (_at(axes[number], begin / whole[number]),
                    _at(axes[number], (begin + ground.value) / whole[number]))  # fmt: skip
            for r in readings:
                turned = Measured(
                    _turns(r, edge[k : k + 2]) * per_count, hypot(TURN_STD, TURN_STD) * per_count
                )
                if not turned.value > 0:
                    continue
                per_turn = ground.per(turned)
                found.append(
                    SlipPart(
                        number=number,
                        unit=r.unit,
                        from_m=begin,
                        to_m=begin + ground.value,
                        ground_per_turn=per_turn,
                        slip=slip_share(per_turn, zero_slip) if zero_slip else None,
                        line=line,
                    )
                )
            begin += ground.value
    return tuple(found)


def _at(axis: tuple[tuple[float, float], tuple[float, float]], share: float) -> tuple[float, float]:
    (lon0, lat0), (lon1, lat1) = axis
    return lon0 + (lon1 - lon0) * share, lat0 + (lat1 - lat0) * share
