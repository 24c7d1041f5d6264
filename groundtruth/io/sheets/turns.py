"""Sheets of turn counts: `pass,start,end,unit,turns` or `time,unit,turns`, told apart by header."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from datetime import date
from itertools import pairwise

from ...core.errors import TurnSheetError
from ...core.turns import TurnCount, TurnReadings, TurnSheet
from ..decoding import clean, first_wrong_line, nearest
from ..files import MAX_SHEET_BYTES, FileInput, load
from ..timestamps import zone_named
from ..tracks.raw_fixes import Tally
from .csv_rows import Sheet, read_sheet
from .turn_cells import Cells

_COLUMNS = (
    "pass",
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
    "pass no": "pass",
    "pass nr": "pass",
    "pass number": "pass",
    "start time": "start",
    "end time": "end",
    "stop": "end",
    "row unit": "unit",
    "turn": "turns",
    "turn count": "turns",
    "count": "turns",
    "day": "date",
    "instant": "time",
    "taped length": "taped",
    "note": "",
    "notes": "",
    "remark": "",
    "remarks": "",
    "comment": "",
    "comments": "",
}
_SHAPES = "pass,start,end,unit,turns or time,unit,turns"


def read_turns(
    counted: FileInput, *, time_zone: str | None = None, day: date | None = None
) -> TurnSheet:
    """The turn counts in a sheet.

    ``time_zone`` ("Europe/Oslo") is for times without zone; ``day`` is the local day for times of
    day without date ("08:41:07").

    Raises
    ------
    TurnSheetError : the sheet cannot be read; the line says where, why and what to do.
    """
    source = load(counted, error=TurnSheetError, what="turn sheet", limit=MAX_SHEET_BYTES)
    data, file = source.data, source.file
    zone = zone_named(time_zone, _no_zone(file.name)) if time_zone else None
    if data.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")):
        raise TurnSheetError(f"{file.name}: is a spreadsheet file; save the sheet as CSV")
    if data.lstrip()[:1] == b"<":
        raise TurnSheetError(
            f"{file.name}: is a track or a page, not a sheet of turn counts, which is a CSV file"
        )
    sheet = read_sheet(data, file.name, TurnSheetError)
    tally = Tally(file.name, "line")
    if sheet.remark:
        tally.repair(sheet.remark, first_wrong_line(data))
    columns = _match_header(sheet, tally)
    reading = Cells(file.name, sheet, columns, tally, zone, day)
    shape = set(columns)
    if {"pass", "time"} <= shape:
        raise TurnSheetError(
            f"{file.name}, line {sheet.header_line}: has both pass and time columns; "
            f"the columns are {_SHAPES}"
        )
    counts: tuple[TurnCount, ...] = ()
    readings: tuple[TurnReadings, ...] = ()
    if {"pass", "turns"} <= shape:
        counts = tuple(_counts(reading))
    elif "time" in shape:
        readings = tuple(_readings(reading))
    else:
        missing = "turns" if "pass" in shape else "pass" if "turns" in shape else "turns"
        raise TurnSheetError(
            f"{file.name}, line {sheet.header_line}: no column {missing}; the first line names "
            f"the columns, {_SHAPES}"
        )
    if not counts and not readings:
        raise TurnSheetError(f"{file.name}: no line with turns below the header")
    return TurnSheet(
        name=file.name, counts=counts, readings=readings, inputs=(file,), notices=tally.notices()
    )


def _no_zone(name: str) -> Callable[[str], TurnSheetError]:
    return lambda why: TurnSheetError(why, file=name, column="time_zone")


def _match_header(sheet: Sheet, tally: Tally) -> dict[str, int]:
    """Column name → index. Near misses are answered, far ones left aside with a warning."""
    where = f"{tally.name}, line {sheet.header_line}"
    if not any(re.search(r"[^\W\d_]", cell) for cell in sheet.header):
        raise TurnSheetError(f"{where}: no header; the first line names the columns, {_SHAPES}")
    known = [*_COLUMNS, *_ALSO]
    found: dict[str, int] = {}
    for index, written in enumerate(sheet.header):
        word = re.sub(r"[\s_.]+", " ", written.lower()).strip()
        if not word:
            continue
        name = word if word in _COLUMNS else _ALSO.get(word)
        if name is None:
            if near := nearest(word, known):
                raise TurnSheetError(
                    f"{where}: column {clean(written)!r} is not known; "
                    f"did you mean {_ALSO.get(near) or near}?"
                )
            tally.warn(f"column {clean(written, 40)!r} is not used", sheet.header_line)
        elif name in found:
            raise TurnSheetError(f"{where}: two columns {name}; keep one")
        elif name:
            found[name] = index
    return found


def _pass_number(reading: Cells, line: int, text: str) -> int:
    match = re.fullmatch(r"(?:pass\s*)?(\d{1,6})(?:[.,]0*)?", text, re.A | re.I)
    if not match or int(match[1]) < 1:
        said = f"pass {text!r} is no whole number" if text else "pass is empty"
        raise reading.fail(line, f"{said}; number the passes 1, 2, 3, …")
    return int(match[1])


def _counts(reading: Cells) -> Iterable[TurnCount]:
    drafts: list[dict[str, object]] = []
    seen: dict[tuple[int, str], int] = {}
    instants: dict[int, tuple[float, float, float]] = {}
    for line, cells in reading.sheet.rows:
        turns = reading.cell(cells, "turns")
        number = _pass_number(reading, line, reading.cell(cells, "pass"))
        unit = reading.cell(cells, "unit") or "1"
        if not turns:
            reading.tally.repair("line without turns left out", line)
            continue
        if (number, unit) in seen:
            raise reading.fail(
                line,
                f"pass {number}, unit {unit} stands in line {seen[number, unit]} already; "
                "one line for each unit of a pass",
            )
        seen[number, unit] = line
        count, resolution = reading.turns(line, turns)
        draft: dict[str, object] = {
            "pass_number": number,
            "unit": unit,
            "turns": count,
            "resolution": resolution,
            "line": line,
            "taped": reading.taped(line, cells),
            **{name: reading.cell(cells, name) for name in ("setting", "crop", "bed")},
        }
        given = [bool(reading.cell(cells, name)) for name in ("start", "end")]
        if all(given):
            start, start_step = reading.instant(line, cells, "start")
            end, end_step = reading.instant(line, cells, "end")
            if not end > start:
                raise reading.fail(line, f"pass {number}: the end is not after the start")
            instants.setdefault(number, (start, end, max(start_step, end_step)))
            draft |= {
                "start_s": start,
                "end_s": end,
                "instant_resolution_s": max(start_step, end_step),
            }
        elif any(given):
            raise reading.fail(line, f"pass {number}: give both start and end, or neither")
        drafts.append(draft)
    for draft in drafts:
        line, number = int(str(draft["line"])), int(str(draft["pass_number"]))
        if instants and "start_s" not in draft:
            if number not in instants:
                raise reading.fail(
                    line,
                    f"pass {number} has no start and end while other passes do; "
                    "give them for all passes, or for none",
                )
            start, end, step = instants[number]
            draft |= {"start_s": start, "end_s": end, "instant_resolution_s": step}
        try:
            yield TurnCount(**draft)  # type: ignore[arg-type] # built above, checked at birth
        except TurnSheetError as why:
            raise TurnSheetError(f"{reading.name}, {why}") from None


def _readings(reading: Cells) -> Iterable[TurnReadings]:
    by_unit: dict[str, list[tuple[int, float, float, str]]] = {}
    for line, cells in reading.sheet.rows:
        seconds, step = reading.instant(line, cells, "time")
        unit = reading.cell(cells, "unit") or "1"
        by_unit.setdefault(unit, []).append((line, seconds, step, reading.cell(cells, "turns")))
    for unit, lines in by_unit.items():
        if len(lines) < 2:
            raise reading.fail(
                lines[0][0], f"unit {unit}: only one reading; a running counter needs two or more"
            )
        yield _one_counter(reading, unit, lines)


def _one_counter(
    reading: Cells, unit: str, lines: list[tuple[int, float, float, str]]
) -> TurnReadings:
    empty = [line for line, _, _, turns in lines if not turns]
    if empty and len(empty) < len(lines):
        raise reading.fail(
            empty[0],
            f"unit {unit}: turns is empty; fill it in every line, or leave it out in all "
            "where each line stands for one turn",
        )
    times: list[float] = []
    turns: list[float] = []
    resolution, step = 1.0, 0.0
    for place, (line, seconds, written_step, text) in enumerate(lines):
        count, written = (place + 1.0, 1.0) if empty else reading.turns(line, text)
        if count < 0:
            raise reading.fail(line, f"unit {unit}: {count:g} turns; a counter starts at 0")
        resolution, step = min(resolution, written), max(step, written_step)
        if times and seconds < times[-1]:
            raise reading.fail(
                line, f"unit {unit}: the time is before that of its line above; sort the lines"
            )
        if turns and count < turns[-1]:
            raise reading.fail(
                line,
                f"unit {unit}: the counter falls from {turns[-1]:g} to {count:g}; if it was set "
                "back, write the turns of each pass instead (pass,start,end,unit,turns)",
            )
        times.append(seconds)
        turns.append(count)
    steps = [after - before for before, after in pairwise(turns)]
    at_each_turn = bool(empty) or (len(turns) > 2 and all(one == 1 for one in steps))
    kept = [
        place
        for place in range(len(times))
        if place + 1 == len(times) or times[place + 1] > times[place]
    ]
    if len(kept) < len(times):
        merged = next(
            line
            for (line, *_), place in zip(lines, range(len(lines)), strict=True)
            if place not in set(kept)
        )
        reading.tally.repair(
            "reading at the same instant as the next left out", merged, len(times) - len(kept)
        )
    if len(kept) < 2 or turns[kept[-1]] <= turns[kept[0]]:
        raise reading.fail(
            lines[0][0], f"unit {unit}: its counter never moves; check which unit was counted"
        )
    return TurnReadings(
        unit=unit,
        time_s=[times[place] for place in kept],  # type: ignore[arg-type] # becomes an array there
        turns=[turns[place] for place in kept],  # type: ignore[arg-type]
        resolution=resolution,
        at_each_turn=at_each_turn,
        instant_resolution_s=step,
    )
