"""Measure a run, described in a file or put together by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from zoneinfo import ZoneInfo

from ..core.crops import Crop
from ..core.result import Result
from ..core.run import Beds, Run, UnitSystem
from ..core.seeder import Seeder
from ..core.track import Track
from ..core.turns import TurnSheet
from ..io import read_run, read_track, read_turns
from ..io.files import FileInput, Source
from ..io.fleet_prior import prior_file, read_prior
from ..io.timestamps import DateOrder, local_day
from ..measurement.measure import measure
from ..passes import Pass, find_passes


@dataclass(frozen=True, slots=True, kw_only=True)
class LooseRun:
    """A run without a description: a track, a sheet of turns, and what is known of the machine.

    Track and turns are files, or were read before. Without a name the run is called after the
    track. ``time_zone`` is that of times without zone, "Europe/Oslo"; UTC where it is not known.
    ``date_order`` is that of dates with slashes in the sheet.
    """

    track: FileInput | Sequence[FileInput] | Track
    turns: FileInput | TurnSheet
    seeder: Seeder = field(default_factory=Seeder)
    crops: tuple[Crop, ...] = ()
    beds: Beds = field(default_factory=Beds)
    name: str = ""
    time_zone: str | None = None
    date_order: DateOrder | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureRequest:
    """A run to measure: a description file, the parts of one, or a run that was read before.

    ``files`` are those that the description names, where they are handed over as bytes. ``units``
    are shown in place of the run's own. ``passes`` are those found before in the run's
    track, which are then not looked for again. ``prior`` is what a fleet taught.
    """

    run: FileInput | LooseRun | Run
    files: tuple[Source, ...] = ()
    units: UnitSystem | None = None
    passes: tuple[Pass, ...] | None = None
    prior: FileInput | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredRun:
    """What came of a request: the run as it was read, the passes found, the result."""

    run: Run
    passes: tuple[Pass, ...]
    result: Result


def run_for(request: MeasureRequest) -> Run:
    """The run of a request, read and repaired, with the units to show.

    Raises
    ------
    InputError : a file cannot be used; the message names it.
    """
    given = request.run
    if isinstance(given, LooseRun):
        run = _put_together(given)
    else:
        run = given if isinstance(given, Run) else read_run(given, files=request.files)
    if request.prior is not None:
        file = prior_file(request.prior)
        run = replace(run, prior=read_prior(file), inputs=(*run.inputs, file.file))
    return replace(run, units=request.units) if request.units else run


def measured_run_for(request: MeasureRequest) -> MeasuredRun:
    """The result of a run, with the run and the passes that it rests on.

    Raises
    ------
    InputError : a file cannot be used; the message names it.
    MeasureError : no pass was found, or too little was recorded.
    """
    run = run_for(request)
    passes = find_passes(run.track) if request.passes is None else request.passes
    return MeasuredRun(run=run, passes=passes, result=measure(run, passes))


def _put_together(given: LooseRun) -> Run:
    track = given.track
    if not isinstance(track, Track):
        track = read_track(track, time_zone=given.time_zone)
    zone = given.time_zone or "UTC"
    turns = given.turns
    if not isinstance(turns, TurnSheet):
        day = local_day(float(track.time_s[0]), ZoneInfo(zone))
        turns = read_turns(
            turns,
            time_zone=given.time_zone,
            day=day,
            date_order=given.date_order,
            recording_start_s=float(track.time_s[0]),
        )
    return Run(
        name=given.name or (Path(track.inputs[0].name).stem if track.inputs else track.name),
        track=track,
        turns=turns,
        seeder=given.seeder,
        crops=given.crops,
        beds=given.beds,
        time_zone=zone,
        notices=(*track.notices, *turns.notices, *given.seeder.doubts()),
    )
