"""Measure a run: call the rooms in order. No formulas and no files here."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import TypeVar
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from .. import __version__
from ..core.assumptions import SPREAD_PRIOR
from ..core.errors import MeasureError
from ..core.findings import Finding, FindingKind
from ..core.measured import Measured
from ..core.plane import plane_about
from ..core.result import PassFigure, Result
from ..core.run import Run
from ..core.track import Track
from ..estimator import DayTravel, Stretch, ground_covered
from ..passes import Pass, find_passes
from ..passes.matching import CountedPass, UnitCount, doubted_if_unseen, matching
from .advice import advise
from .findings import clock_finding, slip_findings, uncounted
from .ground_covered import Ground, fixes_of, ground_under_wheel, stretch_of
from .pass_lines import pass_line
from .prior_figure import with_fleet
from .recording import distance_errors, recording_of
from .slip import PassCount, Pooled, pool_run
from .verdicts import Judged, judge

Array = NDArray[np.float64]
T = TypeVar("T")
DOUBTFUL = 0.05
"""A count that may as well be wrong is weighed as one that is good to this share. Our choice."""


def measure(run: Run, passes: Sequence[Pass] | None = None) -> Result:
    """Ground per gear turn, slip and targets of a run that was read.

    ``passes`` are those that `find_passes` found in the run's track, for a caller who has them
    already; without them they are looked for here.

    Raises
    ------
    MeasureError : no pass was found, or too little was recorded on one.
    TurnSheetError : the counts do not fit the passes.
    ValueError : the passes are those of another track.
    """
    track, seeder = run.track, run.seeder
    plane = plane_about(track)
    east, north = plane.to_metres(track.longitude_deg, track.latitude_deg)
    passes = find_passes(track, plane) if passes is None else passes
    _refuse(track, passes, given=any(c.strip for c in run.turns.counts))
    found = matching(passes, run.turns, track, ZoneInfo(run.time_zone))
    matched = [doubted_if_unseen(c, track.time_s, fixes_of(track, c)) for c in found.passes]
    counted = _undoubted(matched, run.turns.name)
    counted, stretches, unmade = _stretches(track, east, north, counted)
    travel = ground_covered(stretches, receiver=run.receiver)
    lost = _lost(counted, travel)
    if lost:
        sure = [c.number not in lost for c in counted]
        counted = tuple(c for c, keep in zip(counted, sure, strict=True) if keep)
        stretches = [s for s, keep in zip(stretches, sure, strict=True) if keep]
        travel = ground_covered(stretches, receiver=run.receiver)
    unsure = tuple(sorted((*unmade, *lost)))
    clock_std_s = found.clock.offset_s.std if found.clock else 0.0
    ground = ground_under_wheel(
        track, plane, stretches, counted, travel, run.beds, clock_std_s=clock_std_s
    )
    judged = judge(counted, ground)
    kept = _kept(counted, judged)
    pooled = pool_run(
        ground.distance_m,
        ground.covariance_m2,
        [
            PassCount(
                pass_index=i,
                unit=u.unit,
                gear_turns=_believed(u.turns, weight).scaled(seeder.gear_turns_per_counted_turn),
            )
            for i, _, u, weight in kept
        ],
        seeder.zero_slip_travel,
        spread_prior=SPREAD_PRIOR if run.prior is None else run.prior.spread_scale,
    )
    distances, left_out = distance_errors([c.number for c in counted], [k[0] for k in kept], ground)
    notices = _each_once(run.notices, track.notices, run.turns.notices, left_out)
    in_use_m = seeder.ground_per_gear_turn_in_use_m
    in_time = sorted(counted, key=lambda c: c.found.start.time_s)
    return Result(
        run_name=run.name,
        date=_day(counted[0].start.time_s, run.time_zone),
        time_zone=run.time_zone,
        units=run.units,
        seeder=seeder,
        origin=run.origin,
        soil=run.soil,
        ground_per_turn=pooled.ground_per_turn,
        ground_per_turn_95=pooled.ground_per_turn_95,
        slip=pooled.slip,
        slip_95=pooled.slip_95,
        change=_change(pooled.ground_per_turn, in_use_m),
        spread_between_passes=pooled.spread,
        passes=_pass_figures(kept, ground, pooled, seeder.gear_turns_per_counted_turn),
        row_units=pooled.units,
        lines=tuple(pass_line(track, plane, east, north, c) for c in in_time),
        budget=pooled.budget,
        targets=tuple(
            crop.target(pooled.ground_per_turn, pooled.ground_per_turn_95, in_use_m)
            for crop in run.crops
        ),
        advice=advise(pooled, noise=travel.noise, stretches=stretches),
        findings=(
            *slip_findings(pooled.slip_95),
            *clock_finding(found.clock),
            *found.findings,
            *judged.findings,
            *ground.findings,
            *(c.doubt for c in matched if c.doubt),
            *((Finding(kind=FindingKind.TOO_UNSURE, passes=unsure),) if unsure else ()),
            *uncounted(passes, matched),
        ),
        repairs=tuple(n for n in notices if n.kind == "repair"),
        warnings=tuple(n for n in notices if n.kind == "warning"),
        facts=tuple(n for n in notices if n.kind == "fact"),
        inputs=_each_once(run.inputs, track.inputs, run.turns.inputs),
        tool_version=__version__,
        cells=judged.cells,
        recording=recording_of(track, counted, travel),
        distances=distances,
        with_fleet=with_fleet(pooled, in_use_m, run.prior),
        fixes=tuple(zip(track.longitude_deg.tolist(), track.latitude_deg.tolist(), strict=True)),
    )


def _refuse(track: Track, passes: Sequence[Pass], *, given: bool) -> None:
    """Refuse where there are no passes, neither found nor ``given``, or they are another track's.

    Raises
    ------
    MeasureError, ValueError : so it is.
    """
    if not passes and not given:
        raise MeasureError(
            f"{track.called}: no straight working pass was found in the track; "
            "record the whole pass from before the seeder is lowered until it is lifted"
        )
    if not all(_within(track, p) for p in passes):
        raise ValueError(f"these passes were not found in the track {track.name}")


def _within(track: Track, found: Pass) -> bool:
    """Whether a pass lies in this track, by its fixes and its instants."""
    if not 0 <= found.first < found.last < len(track):
        return False
    before, last = track.time_s[max(found.first - 1, 0)], track.time_s[found.last]
    return bool(before <= found.start.time_s < found.end.time_s <= last)


def _undoubted(matched: Sequence[CountedPass], sheet_name: str) -> tuple[CountedPass, ...]:
    """The passes on which sheet and track agree."""
    counted = tuple(c for c in matched if not c.doubt)
    if not counted:
        first = next(c.doubt for c in matched if c.doubt)
        raise MeasureError(f"{sheet_name}: {_why(first)}; no other pass was counted")
    return counted


def _stretches(
    track: Track, east: Array, north: Array, counted: Sequence[CountedPass]
) -> tuple[tuple[CountedPass, ...], list[Stretch], list[int]]:
    """The passes of which enough was recorded, made ready, and the numbers of the others.

    Raises
    ------
    MeasureError : there is no such pass.
    """
    kept, stretches, left = [], [], []
    first: MeasureError | None = None
    for c in counted:
        try:
            stretches.append(stretch_of(track, east, north, c))
        except MeasureError as refusal:
            first = first or refusal
            left.append(c.number)
        else:
            kept.append(c)
    if first and not kept:
        raise first
    return tuple(kept), stretches, left


def _lost(counted: Sequence[CountedPass], travel: DayTravel) -> tuple[int, ...]:
    """The passes that may as well have no length: their fixes were mostly lost. Not all of them."""
    std_m = np.sqrt(np.diag(travel.covariance_m2))
    lost = travel.distance_m <= 2 * std_m
    if lost.all():
        return ()
    return tuple(c.number for c, gone in zip(counted, lost, strict=True) if gone)


def _why(doubt: Finding) -> str:
    """Why a pass cannot be measured, for the error where none can."""
    where = f"pass {doubt.passes[0]}"
    if doubt.kind is FindingKind.END_UNSEEN:
        return f"{where}: the track has no fix where its {doubt.end} was"
    return (
        f"{where}: the sheet's {doubt.end} lies {doubt.along_m:.0f} m in line from the "
        f"{doubt.end} found in the track; check its times"
    )


def _each_once(*groups: tuple[T, ...]) -> tuple[T, ...]:
    """All items in order; a run that was read already carries those of its files."""
    return tuple(dict.fromkeys(item for group in groups for item in group))


def _day(time_s: float, time_zone: str) -> str:
    """The ISO day of an instant by a farm's clock."""
    return datetime.fromtimestamp(time_s, UTC).astimezone(ZoneInfo(time_zone)).date().isoformat()


def _change(ground: Measured, in_use_m: float | None) -> Measured | None:
    if in_use_m is None:
        return None
    return Measured(ground.value / in_use_m - 1, ground.std / in_use_m)


def _kept(
    counted: Sequence[CountedPass], judged: Judged
) -> list[tuple[int, CountedPass, UnitCount, float]]:
    """The counts to pool: index of the pass, the pass, the count, how far it is believed."""
    return [
        (i, c, u, weight)
        for i, (c, weights) in enumerate(zip(counted, judged.weight, strict=True))
        for u, weight in zip(c.counts, weights, strict=True)
        if weight > 0
    ]


def _believed(turns: Measured, weight: float) -> Measured:
    """A count with more doubt the less it is believed."""
    return (
        turns
        if weight == 1
        else Measured(turns.value, turns.std + (1 - weight) * DOUBTFUL * turns.value)
    )


def _pass_figures(
    kept: Sequence[tuple[int, CountedPass, UnitCount, float]],
    ground: Ground,
    pooled: Pooled,
    gear_turns: float,
) -> tuple[PassFigure, ...]:
    total = sum(ground.covariance_m2.values(), start=np.zeros(()))
    std = np.sqrt(np.diag(total))
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
        for (i, c, u, _), figure in zip(kept, pooled.counts, strict=True)
    )
