"""Measure a run: call the rooms in order. No formulas and no files here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TypeVar
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from . import __version__
from .endings import end_covariance
from .errors import MeasureError
from .figures import many
from .matching import CountedPass, doubted_if_unseen, match
from .measured import Measured, rectangular_std
from .notices import Notice
from .passes import Pass, find_passes
from .plane import Plane, height_factor, plane_about
from .result import PassFigure, PassLine, Result
from .run import Beds, Run
from .slip import PassCount, Pooled, pool_run
from .target import target_for
from .track import Track
from .travel import (
    EDGE_STD_S,
    DayTravel,
    HeightLine,
    Stretch,
    ground_covered,
    height_line,
    make_stretch,
    settled_stops,
    slope_factors,
    with_known_lengths,
)
from .verdict import verdict

Array = NDArray[np.float64]
T = TypeVar("T")

HEIGHTS_UNKNOWN = Notice(
    kind="fact",
    text=(
        "the track carries no heights, so slope and height above the ellipsoid are left out: "
        "a slope of 5 % lengthens the ground by 0.12 %, a height of 1000 m by 0.016 %"
    ),
)


def measure(run: Run) -> Result:
    """Ground per gear turn, slip and targets of a run that was read.

    Raises
    ------
    MeasureError : no pass was found, or too little was recorded on one.
    TurnSheetError : the counts do not fit the passes.
    """
    track = run.track
    zone = ZoneInfo(run.time_zone)
    plane = plane_about(track)
    east, north = plane.to_metres(track.longitude_deg, track.latitude_deg)
    passes = find_passes(track, plane)
    if not passes:
        raise MeasureError(
            f"{track.name}: no straight working pass was found in the track; "
            "record the whole pass from before the seeder is lowered until it is lifted"
        )
    matched = [
        doubted_if_unseen(c, track.time_s, _fixes(track, c), zone)
        for c in match(passes, run.turns, track, zone)
    ]
    counted = tuple(c for c in matched if not c.doubt)
    doubts = tuple(Notice(kind="warning", text=c.doubt) for c in matched if c.doubt)
    if not counted:
        raise MeasureError(f"{run.turns.name}: {doubts[0].text}; no other pass was counted")
    stretches = [_stretch(track, east, north, c) for c in counted]
    travel = ground_covered(stretches)
    ground = _ground(track, plane, stretches, counted, travel, run.beds)
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
            target_for(s, pooled.ground_per_turn, pooled.ground_per_turn_95, in_use)
            for s in run.sowings
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


def _each_once(*groups: tuple[T, ...]) -> tuple[T, ...]:
    """All items in order; a run that was read already carries those of its files."""
    return tuple(dict.fromkeys(item for group in groups for item in group))


def _change(ground: Measured, in_use_m: float | None) -> Measured | None:
    if in_use_m is None:
        return None
    return Measured(ground.value / in_use_m - 1, ground.std / in_use_m)


AROUND_MARK_S = 20.0
"""Fixes this far outside a mark that the turn sheet gives are used, s."""


def _fixes(track: Track, counted: CountedPass) -> slice:
    """The fixes of a pass; where the sheet gives the mark, those about the marked ground.

    Beyond a mark on the move lies the headland turn, which is no straight line: nothing of it.
    """
    found, start, end = counted.found, counted.start, counted.end
    from_s, until_s = -np.inf, np.inf
    if start.found == "turn sheet":
        from_s = start.time_s - (AROUND_MARK_S if found.start.found == "stopped" else 0.0)
    if end.found == "turn sheet":
        until_s = end.time_s + (AROUND_MARK_S if found.end.found == "stopped" else 0.0)
    first = max(found.first, int(np.searchsorted(track.time_s, from_s)))
    last = min(found.last, int(np.searchsorted(track.time_s, until_s, side="right")) - 1)
    return slice(first, last + 1)


def _stretch(track: Track, east: Array, north: Array, counted: CountedPass) -> Stretch:
    part = _fixes(track, counted)
    return make_stretch(
        track.time_s[part],
        east[part],
        north[part],
        track.speed_m_s[part],
        stops=settled_stops(track.time_s[part], east[part], north[part], counted.found.stops),
        start_s=counted.start.time_s,
        end_s=counted.end.time_s,
        wheel=counted.wheel,
        edge_std_s=EDGE_STD_S,
        name=f"pass {counted.number}",
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Ground:
    """Ground under the wheel on each pass, the covariance of its error by source, and remarks."""

    distance_m: Array
    covariance_m2: Mapping[str, Array]
    notices: tuple[Notice, ...]


def _ground(
    track: Track,
    plane: Plane,
    stretches: Sequence[Stretch],
    counted: Sequence[CountedPass],
    travel: DayTravel,
    beds: Beds,
) -> _Ground:
    heights = [_heights(track, s, c) for s, c in zip(stretches, counted, strict=True)]
    slopes = slope_factors(heights, travel.receiver)
    known = [h.mean_height_m for h in heights if h is not None]
    lift = height_factor(float(np.mean(known)), plane.latitude_deg) if known else 1.0
    factor = np.array(
        [s.value * w.value * lift for s, w in zip(slopes, travel.winding, strict=True)]
    )
    distance = travel.distance_m * factor
    speed = np.array([s.rough_speed_m_s for s in stretches])
    marks = [(c.start, c.end) for c in counted]
    place_std = np.array([[m.place_std_m for m in pair] for pair in marks])
    rolling = np.array([[m.found == "rolling" for m in pair] for pair in marks])
    instant = np.array([c.start.instant_std_s**2 + c.end.instant_std_s**2 for c in counted])
    slope_std = distance * np.array([s.std for s in slopes])
    winding_std = distance * np.array([w.std for w in travel.winding])
    sources = {
        "position noise": travel.covariance_m2 * np.outer(factor, factor),
        "ends of the passes": end_covariance(place_std, rolling),
        "instants in the turn sheet": np.diag(speed**2 * instant),
        # one field and one driver: these errors are common to the passes
        "slope": np.outer(slope_std, slope_std),
        "bow and weave": np.outer(winding_std, winding_std),
    }
    distance, sources = with_known_lengths(
        distance,
        sources,
        taped=[c.taped for c in counted],
        common=beds.taped,
        alike_std_m=None if beds.alike_within_m is None else rectangular_std(beds.alike_within_m),
    )
    return _Ground(
        distance_m=distance,
        covariance_m2=sources,
        notices=_travel_notices(counted, travel, heights_known=bool(known)),
    )


def _heights(track: Track, stretch: Stretch, counted: CountedPass) -> HeightLine | None:
    part = _fixes(track, counted)
    height = track.height_m[part]
    if len(height) != len(stretch.time_s):  # thinned: take the heights at the kept instants
        known = np.isfinite(height)
        if known.sum() < 2:
            return None
        height = np.interp(stretch.time_s, track.time_s[part][known], height[known])
    return height_line(stretch.along_m, height, counted.found.axis_deg)


def _travel_notices(
    counted: Sequence[CountedPass], travel: DayTravel, *, heights_known: bool
) -> tuple[Notice, ...]:
    notices = []
    jumped = sum(travel.set_aside)
    if jumped:
        where = ", ".join(
            str(c.number) for c, n in zip(counted, travel.set_aside, strict=True) if n
        )
        notices.append(
            Notice(
                kind="repair",
                text="fixes that jumped aside together for some seconds were left out of the "
                "distance, as when signals come off walls or trees",
                count=jumped,
                where=f"pass {where}",
            )
        )
    if not heights_known:
        notices.append(HEIGHTS_UNKNOWN)
    return tuple(notices)


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
    counted: Sequence[CountedPass], ground: _Ground, pooled: Pooled, gear_turns: float
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
    angle = np.radians(found.axis_deg)
    along = east[part] * np.sin(angle) + north[part] * np.cos(angle)
    across = float(np.median(east[part] * np.cos(angle) - north[part] * np.sin(angle)))
    # the drawn axis runs from end to end of the pass, the median place across it
    ends = np.interp([found.start.time_s, found.end.time_s], time_s, along)
    axis_e = ends * np.sin(angle) + across * np.cos(angle)
    axis_n = ends * np.cos(angle) - across * np.sin(angle)
    axis_lon, axis_lat = plane.to_degrees(axis_e, axis_n)
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
