"""Sheets of turn counts: `pass,start,end,unit,turns` or `time,unit,turns`, told apart by header."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date
from itertools import pairwise

from ...core.errors import TurnSheetError
from ...core.language import English
from ...core.notices import Notice, at_line
from ...core.safe_text import clean
from ...core.turns import TurnCount, TurnReadings, TurnSheet
from ..files import FileInput, shown_name
from ..tally import Tally
from ..timestamps import DateOrder, zone_named
from .alike import alike_notices
from .rows import Row, Rows, read_rows
from .turn_cells import Watch, pass_number_of, strip_number_of, turns_of

COLUMNS = (
    "pass",
    "track_pass",
    "start",
    "end",
    "time",
    "date",
    "unit",
    "turns",
    "setting",
    "crop",
    "bed",
    "taped",
)
_ALSO = {
    "pass_no": "pass",
    "pass_nr": "pass",
    "pass_number": "pass",
    "start_time": "start",
    "end_time": "end",
    "stop": "end",
    "row_unit": "unit",
    "turn": "turns",
    "turn_count": "turns",
    "count": "turns",
    "day": "date",
    "instant": "time",
    "taped_length": "taped",
}
MOST_NOTES, NOTE_LENGTH = 200, 500
_SHAPE = "pass,start,end,unit,turns or time,unit,turns"


def read_turns(
    sheet: FileInput,
    *,
    time_zone: str | None = None,
    day: date | None = None,
    date_order: DateOrder | None = None,
    recording_start_s: float | None = None,
) -> TurnSheet:
    """The turn counts in a sheet.

    ``time_zone`` ("Europe/Oslo") is for times without zone; ``day`` is the local day for times of
    day without date ("08:41:07"); ``date_order`` says which number of 05/12/2026 is the day.
    Bare numbers for times are seconds since ``recording_start_s`` (s since 1970 UTC).

    Raises
    ------
    TurnSheetError : the sheet cannot be read; the line says where, why and what to do.
    """
    name = shown_name(sheet)

    def no_zone(why: str) -> TurnSheetError:
        return TurnSheetError(why, file=name, column="time_zone")

    rows = turn_rows(sheet)
    tally = Tally(name, "line")
    watch = Watch(
        zone=zone_named(time_zone, no_zone) if time_zone else None,
        day=day,
        date_order=date_order,
        recording_start_s=recording_start_s,
        tally=tally,
    )

    def refused(reason: str, column: str) -> TurnSheetError:
        return TurnSheetError(reason, file=name, line=rows.header_line, column=column)

    counts: tuple[TurnCount, ...] = ()
    readings: tuple[TurnReadings, ...] = ()
    if {"pass", "time"} <= rows.columns:
        raise refused(f"has both pass and time columns; the columns are {_SHAPE}", "time")
    if {"pass", "track_pass"} <= rows.columns:
        raise refused("has both pass and track_pass columns; keep one", "track_pass")
    numbered = {"pass", "track_pass"} & rows.columns
    by_bed = not numbered and "bed" in rows.columns and "time" not in rows.columns
    if "turns" in rows.columns and (numbered or by_bed):
        counts = tuple(_counts(rows, watch, by_bed=by_bed))
    elif "time" in rows.columns:
        readings = tuple(_readings(rows, watch))
    else:
        missing = "pass" if "turns" in rows.columns else "turns"
        raise refused(f"no column {missing}; the first line names the columns, {_SHAPE}", missing)
    if not counts and not readings:
        raise TurnSheetError("no line with turns below the header", file=name)
    return TurnSheet(
        name=name,
        counts=counts,
        readings=readings,
        inputs=(rows.file,),
        notices=(
            *rows.notices,
            *tally.notices(),
            *alike_notices(rows, "crop", "unit", "setting"),
            *_notes(rows),
        ),
    )


def _notes(rows: Rows) -> Iterator[Notice]:
    """What was written beside the counts, and on lines of its own, as facts of the day."""
    for row in rows.remarks[:MOST_NOTES]:
        number, when = row.text("pass") or row.text("track_pass"), row.text("start")
        note = clean(row.cells["note"], NOTE_LENGTH)
        text = (
            English("note on pass {number}: {note}", number=number, note=note)
            if number
            else English("note at {time}: {note}", time=when, note=note)
            if when
            else English("note: {note}", note=note)
        )
        yield Notice(kind="fact", text=text, where=at_line(row.file, row.line))
    if (further := len(rows.remarks) - MOST_NOTES) > 0:
        text = English.counted(further, "{count} further note", "{count} further notes")
        yield Notice(kind="fact", text=text, where=rows.file.name)


def turn_rows(sheet: FileInput) -> Rows:
    """The lines of a turn sheet by its columns, with their cells as written.

    Raises
    ------
    TurnSheetError : the sheet cannot be read, or a column is not known.
    """
    return read_rows(
        sheet,
        what="turn sheet",
        optional=COLUMNS,
        also=_ALSO,
        shape=_SHAPE,
        spread=("turns", "unit"),
        error=TurnSheetError,
    )


def _counts(rows: Rows, watch: Watch, *, by_bed: bool) -> Iterator[TurnCount]:
    """One count for each unit of a pass; instants written for one unit hold for its pass.

    ``by_bed``: the beds number the passes in the order in which they appear.
    """
    beds: dict[str, int] = {}
    found: dict[tuple[bool, int, str], tuple[Row, TurnCount]] = {}
    instants: dict[tuple[bool, int], TurnCount] = {}  # by pass, a count that has them
    of_track = "track_pass" in rows.columns
    noted = {row.line for row in rows.remarks}
    for row in rows:
        unit = row.text("unit") or "1"
        if not row.text("turns"):
            if row.line not in noted or row.text("pass") or row.text("unit"):
                watch.tally.repair(English("line without turns left out"), row.line)
            continue
        if by_bed and not row.text("bed"):
            raise row.fail("bed is empty; name it, or number the passes in a column pass", "bed")
        number = strip_number_of(row) if of_track else None
        strip = number is not None
        if number is None:
            number = (
                beds.setdefault(row.text("bed"), len(beds) + 1)
                if by_bed
                else pass_number_of(row, of_track=of_track)
            )
        key = strip, number, unit
        if key in found:
            raise row.fail(
                f"{'strip' if strip else 'pass'} {number}, unit {unit} stands in line "
                f"{found[key][0].line} already; one line for each unit of a pass",
                "track_pass" if strip else "pass",
            )
        count = _count(row, number, unit, watch, of_track=of_track, strip=strip)
        found[key] = row, count
        if count.start_s is not None:
            instants.setdefault(key[:2], count)
    timed = any(not strip for strip, _ in instants)
    for row, count in found.values():
        if count.start_s is None and (timed or count.strip):
            known = instants.get((count.strip, count.pass_number))
            if known is None and count.strip:
                raise row.fail(
                    f"strip {count.pass_number} has no start and end; write between which times "
                    "the track is that pass",
                    "start",
                )
            if known is None:
                raise row.fail(
                    f"pass {count.pass_number} has no start and end while other passes do; "
                    "give them for all passes, or for none",
                    "start",
                )
            yield replace(
                count,
                start_s=known.start_s,
                end_s=known.end_s,
                instant_resolution_s=known.instant_resolution_s,
            )
        else:
            yield count


def _count(
    row: Row, number: int, unit: str, watch: Watch, *, of_track: bool, strip: bool
) -> TurnCount:
    turns, resolution = turns_of(row)
    start = watch.instant_of(row, "start") if row.text("start") else None
    end = watch.instant_of(row, "end") if row.text("end") else None
    try:
        return TurnCount(
            pass_number=number,
            unit=unit,
            turns=turns,
            start_s=start[0] if start else None,
            end_s=end[0] if end else None,
            resolution=resolution,
            instant_resolution_s=max(start[1], end[1]) if start and end else 1.0,
            setting=row.text("setting"),
            crop=row.text("crop"),
            bed=row.text("bed"),
            taped=row.measured_length("taped"),
            line=row.line,
            of_track=of_track,
            strip=strip,
        )
    except TurnSheetError as why:
        raise (why if why.file else row.fail(why.reason, why.column)) from None


def _readings(rows: Iterable[Row], watch: Watch) -> Iterator[TurnReadings]:
    by_unit: dict[str, list[Row]] = {}
    for row in rows:
        by_unit.setdefault(row.text("unit") or "1", []).append(row)
    for unit, lines in by_unit.items():
        if len(lines) < 2:
            raise lines[0].fail(
                f"unit {unit}: only one reading; a running counter needs two or more"
            )
        yield _one_counter(unit, lines, watch)


def _one_counter(unit: str, rows: list[Row], watch: Watch) -> TurnReadings:
    empty = [row for row in rows if not row.text("turns")]
    if empty and len(empty) < len(rows):
        raise empty[0].fail(
            f"unit {unit}: turns is empty; fill it in every line, or leave it out in all "
            "where each line stands for one turn",
            "turns",
        )
    times: list[float] = []
    turns: list[float] = []
    resolution, step = 1.0, 0.0
    for place, row in enumerate(rows, start=1):
        seconds, written_step = watch.instant_of(row, "time")
        count, written = (float(place), 1.0) if empty else turns_of(row)
        if count < 0:
            raise row.fail(f"unit {unit}: {count:g} turns; a counter starts at 0", "turns")
        resolution, step = min(resolution, written), max(step, written_step)
        if times and seconds < times[-1]:
            raise row.fail(
                f"unit {unit}: the time is before that of its line above; sort the lines", "time"
            )
        if turns and count < turns[-1]:
            raise row.fail(
                f"unit {unit}: the counter falls from {turns[-1]:g} to {count:g}; if it was set "
                "back, write the turns of each pass instead (pass,start,end,unit,turns)",
                "turns",
            )
        times.append(seconds)
        turns.append(count)
    at_each_turn = bool(empty) or (
        len(turns) > 2 and all(after - before == 1 for before, after in pairwise(turns))
    )
    lasts = [before < after for before, after in pairwise(times)] + [True]
    kept = [place for place, last in enumerate(lasts) if last]
    if len(kept) < len(times):
        watch.tally.repair(
            English("reading at the same instant as the next left out"),
            rows[lasts.index(False)].line,
            len(times) - len(kept),
        )
    if len(kept) < 2 or turns[kept[-1]] <= turns[kept[0]]:
        raise rows[0].fail(
            f"unit {unit}: its counter never moves; check which unit was counted", "turns"
        )
    return TurnReadings(
        unit=unit,
        time_s=[times[place] for place in kept],  # type: ignore[arg-type] # becomes an array there
        turns=[turns[place] for place in kept],  # type: ignore[arg-type]
        resolution=resolution,
        at_each_turn=at_each_turn,
        instant_resolution_s=step,
    )
