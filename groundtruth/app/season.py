"""Put measured runs, bench sheets, stand sheets and a map of beds into a season's record.

A change of the seeder, export and import need nothing read first: `groundtruth.season` has them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from dataclasses import replace as changed
from pathlib import Path

from ..core.errors import GroundtruthError, InputError
from ..core.result import Result, SlipPart
from ..io import read_beds, read_bench, read_result, read_stands
from ..io.files import FileInput, shown_name
from ..io.timestamps import DateOrder
from ..measurement.slip_along import slip_along
from ..season import Added, add_bench, add_run, add_stands, set_map
from ..views.sentences.measurement import (
    repair_sentences,
    warning_sentences,
    watch_sentences,
)
from .measure import MeasuredRun, MeasureRequest, measured_run_for
from .seeding import bench_doubts
from .stands import credible_stands


@dataclass(frozen=True, slots=True, kw_only=True)
class AddRunsRequest:
    """Runs for the record: descriptions (RUN.toml), results (RESULT.json), or measured just now.

    ``replace`` puts a run in place of one that holds the same passes.
    """

    record: Path
    sources: tuple[FileInput | MeasuredRun, ...]
    seeder: str = ""
    soil: str = ""
    note: str = ""
    replace: bool = False


def added_runs_for(request: AddRunsRequest) -> Iterator[Added]:
    """What became of each run, one after the other as it is measured and recorded.

    Raises
    ------
    InputError : a file cannot be used, or the record holds these passes already; the runs before
        it are recorded, and the message names them where there are several.
    """
    for done, source in enumerate(request.sources):
        try:
            result, along = _measured(source)
            added = add_run(
                request.record,
                result,
                along=along,
                seeder=request.seeder.strip(),
                soil=request.soil.strip().casefold(),
                note=request.note.strip(),
                replace=request.replace,
            )
        except GroundtruthError as error:
            if len(request.sources) == 1:
                raise
            kept = ", ".join(map(_named, request.sources[:done])) or "nothing"
            left = ", ".join(map(_named, request.sources[done:]))
            raise InputError(f"{error}; kept in the record: {kept}; not added: {left}") from error
        yield changed(added, says=_said_of(result))


def _said_of(result: Result) -> tuple[str, ...]:
    """What measuring says of a run besides its figures."""
    says = (watch_sentences, warning_sentences, repair_sentences)
    return tuple(text for of in says for text in of(result))


def _named(source: FileInput | MeasuredRun) -> str:
    return source.run.name if isinstance(source, MeasuredRun) else shown_name(source)


def add_bench_sheet(
    record: Path, sheet: FileInput, *, replace: bool = False, also: bool = False
) -> Added:
    """What became of a sheet of bench counts; see `groundtruth.season.add_bench`."""
    bench = read_bench(sheet)
    file = bench.file
    added = add_bench(record, bench.counts, file.sha256, name=file.name, replace=replace, also=also)
    return changed(added, says=tuple(map(str, (*bench.notices, *bench_doubts(bench)))))


def add_stand_sheet(
    record: Path,
    sheet: FileInput,
    *,
    replace: bool = False,
    also: bool = False,
    date_order: DateOrder | None = None,
) -> Added:
    """What became of a sheet of stand counts; see `groundtruth.season.add_stands`."""
    stands = read_stands(sheet, date_order=date_order)
    file = stands.file
    added = add_stands(
        record, stands.counts, file.sha256, name=file.name, replace=replace, also=also
    )
    doubts = [one for lot in stands.lots for one in credible_stands(stands, *lot, as_typed=True)[1]]
    return changed(added, says=tuple(map(str, (*stands.notices, *doubts))))


def add_bed_map(record: Path, beds: FileInput) -> Added:
    """What became of the grower's own map of beds."""
    return set_map(record, read_beds(beds))


def _measured(source: FileInput | MeasuredRun) -> tuple[Result, tuple[SlipPart, ...]]:
    """A run's result, and slip along its passes where its track is at hand and turns were timed."""
    if not isinstance(source, MeasuredRun):
        kind = Path(shown_name(source)).suffix.lower()
        if kind == ".json":
            return read_result(source), ()
        if kind != ".toml":
            raise InputError(
                "give a run description (RUN.toml), or the result.json of a run that was measured",
                file=shown_name(source),
            )
        source = measured_run_for(MeasureRequest(run=source))
    return source.result, slip_along(source.run, source.result, source.passes)
