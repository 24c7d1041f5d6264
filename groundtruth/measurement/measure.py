"""Measure a run: call the rooms in order. No formulas and no files here."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import TypeVar
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from .. import __version__
from ..core.display import many
from ..core.errors import MeasureError
from ..core.measured import Measured
from ..core.notices import Notice
from ..core.plane import Axis, Plane, plane_about
from ..core.result import PassFigure, PassLine, Result
from ..core.run import Run
from ..core.track import Track
from ..estimator import ground_covered
from ..passes import Pass, find_passes
from ..passes.matching import CountedPass, doubted_if_unseen, match
from .advice import verdict
from .ground_covered import Ground, fixes_of, ground_under_wheel, stretch_of
from .slip import PassCount, Pooled, pool_run

Array = NDArray[np.float64]
T = TypeVar("T")


def measure(run: Run, passes: Sequence[Pass] | None = None) -> Result:
    """Ground per gear turn, slip and targets of a run that was read.

    ``passes`` are those that `find_passes` found in the run's track, for a caller who has them
    already; without them they are looked for here.

    Raises
    ------
    MeasureError : no pass was found, or too little was recorded on one.
    ValueError : the passes are those of another track.
    TurnSheetError : the counts do not fit the passes.
    """
    track = run.track
    zone = ZoneInfo(run.time_zone)
    plane = plane_about(track)
    east, north = plane.to_metres(track.longitude_deg, track.latitude_deg)
    if passes is None:
        passes = find_passes(track, plane)
    elif not all(_within(track, p) for p in passes):
        raise ValueError(f"these passes were not found in the track {track.name}")
    if not passes:
        raise MeasureError(
            f"{track.name}: no straight working pass was found in the track; "
            "record the whole pass from before the seeder is lowered until it is lifted"
        )
    matched = [
        doubted_if_unseen(c, track.time_s, fixes_of(track, c), zone)
        for c in match(passes, run.turns, track, zone)
    ]
    counted = tuple(c for c in matched if not c.doubt)
    doubts = tuple(Notice(kind="warning", text=c.doubt) for c in matched if c.doubt)
    if not counted:
        raise MeasureError(f"{run.turns.name}: {doubts[0].text}; no other pass was counted")
    stretches = [stretch_of(track, east, north, c) for c in counted]
    travel = ground_covered(stretches)
    ground = ground_under_wheel(track, plane, stretches, counted, travel, run.beds)
    seeder = run.seeder
    pooled = pool_run(
        ground.distance_m,
        ground.covariance_m2,
        [
            PassCount(
                pass_index=i,
                unit=u.unit,
                gear_turns=u.turns.scaled(seeder.gear_turns_per_counted_turn),
            )
            for i, c in enumerate(counted)
            for u in c.counts
        ],
        seeder.zero_slip_travel,
    )
    notices = _each_once(
        run.notices,
        track.notices,
        run.turns.notices,
        ground.notices,
        doubts,
        _uncounted(passes, matched),
    )
    in_use = seeder.ground_per_gear_turn_in_use_m
    in_time = sorted(counted, key=lambda c: c.found.start.time_s)
    lines = tuple(_line(track, plane, east, north, c) for c in in_time)
    first = datetime.fromtimestamp(counted[0].start.time_s, UTC).astimezone(zone)
    return Result(
        run_name=run.name,
        date=first.date().isoformat(),
        time_zone=run.time_zone,
        units=run.units,
        seeder=seeder,
        ground_per_turn=pooled.ground_per_turn,
        ground_per_turn_95=pooled.ground_per_turn_95,
        slip=pooled.slip,
        slip_95=pooled.slip_95,
        change=_change(pooled.ground_per_turn, in_use),
        spread_between_passes=pooled.spread,
        passes=_pass_figures(counted, ground, pooled, seeder.gear_turns_per_counted_turn),
        row_units=pooled.units,
        lines=lines,
        budget=pooled.budget,
        targets=tuple(
            crop.target(pooled.ground_per_turn, pooled.ground_per_turn_95, in_use)
            for crop in run.crops
        ),
        advice=verdict(
            pooled, units=run.units, in_use_m=in_use, noise=travel.noise, stretches=stretches
        ),
        repairs=tuple(n for n in notices if n.kind == "repair"),
        warnings=tuple(n for n in notices if n.kind == "warning"),
        facts=tuple(n for n in notices if n.kind == "fact"),
        inputs=_each_once(run.inputs, track.inputs, run.turns.inputs),
        tool_version=__version__,
        fixes=tuple(zip(track.longitude_deg.tolist(), track.latitude_deg.tolist(), strict=True)),
    )


def _within(track: Track, found: Pass) -> bool:
    """Whether a pass lies in this track, by its fixes and its instants."""
    if not 0 <= found.first < found.last < len(track):
        return False
    before, last = track.time_s[max(found.first - 1, 0)], track.time_s[found.last]
    return bool(before <= found.start.time_s < found.end.time_s <= last)


def _each_once(*groups: tuple[T, ...]) -> tuple[T, ...]:
    """All items in order; a run that was read already carries those of its files."""
    return tuple(dict.fromkeys(item for group in groups for item in group))


def _change(ground: Measured, in_use_m: float | None) -> Measured | None:
    if in_use_m is None:
        return None
    return Measured(ground.value / in_use_m - 1, ground.std / in_use_m)


def _uncounted(passes: Sequence[Pass], counted: Sequence[CountedPass]) -> tuple[Notice, ...]:
    taken = {c.found.number for c in counted}
    left = [str(p.number) for p in passes if p.number not in taken]
    if not left:
        return ()
    return (
        Notice(
            kind="fact",
            text=f"{many(len(left), 'pass', 'passes')} of the track without a turn count: "
            f"{', '.join(left)} in order of time",
        ),
    )


def _pass_figures(
    counted: Sequence[CountedPass], ground: Ground, pooled: Pooled, gear_turns: float
) -> tuple[PassFigure, ...]:
    total = sum(ground.covariance_m2.values(), start=np.zeros(()))
    std = np.sqrt(np.diag(total))
    pairs = [(i, c, u) for i, c in enumerate(counted) for u in c.counts]
    return tuple(
        PassFigure(
            number=c.number,
            unit=u.unit,
            start_s=c.start.time_s,
            end_s=c.end.time_s,
            start_found=c.start.found,
            end_found=c.end.found,
            distance=Measured(float(ground.distance_m[i]), float(std[i])),
            turns=u.turns.scaled(gear_turns),
            ground_per_turn=figure.ground_per_turn,
            slip=figure.slip,
            setting=u.setting,
            crop=u.crop,
            bed=u.bed,
        )
        for (i, c, u), figure in zip(pairs, pooled.counts, strict=True)
    )


def _line(track: Track, plane: Plane, east: Array, north: Array, counted: CountedPass) -> PassLine:
    found = counted.found
    part = slice(found.first, found.last + 1)
    time_s = track.time_s[part]
    axis = Axis.towards(found.axis_deg)
    along, across = axis.along(east[part], north[part]), axis.across(east[part], north[part])
    # the drawn axis runs from end to end of the pass, the median place across it
    ends = np.interp([found.start.time_s, found.end.time_s], time_s, along)
    axis_lon, axis_lat = plane.to_degrees(*axis.from_origin(ends, np.median(across)))
    return PassLine(
        number=counted.number,
        time_s=tuple(time_s.tolist()),
        longitude_deg=tuple(track.longitude_deg[part].tolist()),
        latitude_deg=tuple(track.latitude_deg[part].tolist()),
        axis=(
            (float(axis_lon[0]), float(axis_lat[0])),
            (float(axis_lon[1]), float(axis_lat[1])),
        ),
        axis_deg=found.axis_deg,
        speed_m_s=abs(float(ends[1] - ends[0])) / max(found.under_way_s, 1e-9),
    )
