"""A run that a person types beside the passes found: turned into the open files of a run.

The files are what is measured, so that what is kept on disk gives the same figure again.
"""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from io import StringIO
from pathlib import Path

from ..core.errors import RunFileError, TurnSheetError
from ..core.run import UnitSystem
from ..core.safe_text import clean
from ..io.files import Source

RUN, TURNS = "run.toml", "turns.csv"
MOST_COUNTED = 1e9
_BARE = re.compile(r"[+-]?\d+([.,]\d+)?(\s+\d+/\d+)?|\d+/\d+")
_SMALL = {"metric": "cm", "us": "in"}
_LARGE = {"metric": "m", "us": "ft"}
_INSTANTS = ("start", "end")
_COLUMNS = ("track_pass", "unit", "turns", "setting", "crop", "bed", "taped")


class TypedCellError(TurnSheetError):
    """What is typed beside a pass cannot be used; ``number`` and ``place`` are pass and unit."""

    def __init__(self, reason: str, *, number: int, place: int, column: str) -> None:
        super().__init__(f"pass {number}, unit {place + 1}: {reason}", column=column)
        self.number, self.place = number, place


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedPass:
    """What is typed beside one pass: by unit the turns, or the counter at start and end.

    ``strip`` holds the instants between which the track is that pass because somebody says so.
    """

    number: int
    turns: tuple[str, ...] = ()
    at_start: tuple[str, ...] = ()
    at_end: tuple[str, ...] = ()
    setting: str = ""
    crop: str = ""
    bed: str = ""
    taped: str = ""
    struck: bool = False
    strip: tuple[str, str] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedCrop:
    """A crop as typed; shares as 0.81 or 81 %."""

    crop: str
    spacing: str
    germination: str = ""
    field_emergence: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedRun:
    """Everything typed for a run. A length without unit is in cm or in, a taped one in m or ft.

    ``machine`` holds fields of the table ``[seeder]`` of a run file, as text; a bare tyre pressure
    is in bar or psi, a bare ballast in kg or lb. ``origin`` holds farm, field and phone by their
    fields in a run file, ``soil`` moisture and texture. A ``sheet`` stands in place of what is
    typed beside the passes.
    """

    name: str
    units: UnitSystem
    time_zone: str
    track_names: tuple[str, ...]
    row_units: tuple[str, ...] = ()
    passes: tuple[TypedPass, ...] = ()
    by_counter: bool = False
    sheet: Source | None = None
    machine: tuple[tuple[str, str], ...] = ()
    bed_length: str = ""
    crops: tuple[TypedCrop, ...] = ()
    origin: tuple[tuple[str, str], ...] = ()
    soil: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedFiles:
    """The files of a typed run; ``cells`` tells for each line of the turns its pass and unit."""

    run: Source
    turns: Source
    cells: dict[int, tuple[int, int]]


def files_of(typed: TypedRun) -> TypedFiles:
    """The run description and the sheet of turns.

    Raises
    ------
    TurnSheetError : nothing is counted yet, or counter readings cannot be subtracted.
    RunFileError : a plain number of the machine is none.
    """
    if typed.sheet is not None:
        turns, cells = Source(TURNS, typed.sheet.data), dict[int, tuple[int, int]]()
    else:
        turns, cells = _sheet(typed)
    return TypedFiles(run=Source(RUN, _description(typed).encode()), turns=turns, cells=cells)


def _sheet(typed: TypedRun) -> tuple[Source, dict[int, tuple[int, int]]]:
    text = StringIO()
    rows = csv.writer(text, lineterminator="\n")
    strips = [one.strip for one in typed.passes if one.strip]
    rows.writerow((_COLUMNS[0], *_INSTANTS, *_COLUMNS[1:]) if strips else _COLUMNS)
    cells: dict[int, tuple[int, int]] = {}
    for one, turns in _counted(typed):
        which: tuple[object, ...] = (one.number,)
        if strips:
            which = (one.number, "", "")
        if one.strip:
            which = (f"strip {strips.index(one.strip) + 1}", *map(_one_line, one.strip))
        for place, count in enumerate(turns):
            if not count:
                continue
            cells[len(cells) + 2] = one.number, place
            taped = with_unit(one.taped, _LARGE[typed.units])
            names = (clean(one.setting), clean(one.crop), clean(one.bed))
            rows.writerow([*which, typed.row_units[place], count, *names, taped])
    if not cells:
        raise TurnSheetError("no turns yet; type them beside the passes", file=TURNS)
    return Source(TURNS, text.getvalue().encode("utf-8", "replace")), cells


def _counted(typed: TypedRun) -> Iterator[tuple[TypedPass, Sequence[str]]]:
    """Each pass that was not struck out with its turns by unit, "" where there are none."""
    before = [""] * len(typed.row_units)
    for one in typed.passes:
        if not typed.by_counter:
            turns = [_one_line(t) for t in one.turns]
        else:
            starts = [a or b for a, b in zip(_cells(one.at_start, before), before, strict=True)]
            ends = _cells(one.at_end, before)
            turns = [
                "" if one.struck else _between(one, place, start, end)
                for place, (start, end) in enumerate(zip(starts, ends, strict=True))
            ]
            before = [e or s for s, e in zip(starts, ends, strict=True)]
        if not one.struck:
            yield one, turns[: len(typed.row_units)]


def _cells(cells: Sequence[str], like: Sequence[str]) -> list[str]:
    return [_one_line(cells[i]) if i < len(cells) else "" for i in range(len(like))]


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _between(one: TypedPass, place: int, start: str, end: str) -> str:
    """The turns between two readings of a counter, to the finer of their steps."""
    if not end:
        return ""

    def refused(reason: str, column: str) -> TypedCellError:
        return TypedCellError(reason, number=one.number, place=place, column=column)

    if not start:
        raise refused("the reading at the start is missing", "start")
    figures = []
    for column, text in (("start", start), ("end", end)):
        try:
            figures.append(Decimal(text.replace(",", ".")))
        except InvalidOperation:
            raise refused(f"{clean(text, 40)!r} is no reading of a counter", column) from None
        if not figures[-1].is_finite() or not abs(figures[-1]) < MOST_COUNTED:
            raise refused(f"{clean(text, 40)!r} is out of range", column)
    turns = figures[1] - figures[0]
    if turns <= 0:
        raise refused(f"the counter falls from {start} to {end}; it must rise", "end")
    return f"{turns:f}"


def with_unit(text: str, unit: str) -> str:
    """A typed length with its unit: a bare number is taken in ``unit``."""
    text = _one_line(text)
    return f"{text} {unit}" if _BARE.fullmatch(text) else text


def _description(typed: TypedRun) -> str:
    tracks = [toml_string(name) for name in typed.track_names]
    track = tracks[0] if len(tracks) == 1 else f"[{', '.join(tracks)}]"
    name = clean(typed.name) or "".join(Path(one).stem for one in typed.track_names[:1])
    top = {"name": toml_string(name or "run"), "track": track, "turns": toml_string(TURNS)}
    if typed.time_zone:
        top["time_zone"] = toml_string(_one_line(typed.time_zone))
    top["units"] = toml_string(typed.units)
    top |= _words(typed.origin)
    lines = [f"{key} = {value}" for key, value in top.items()]
    units = typed.units
    lines += _table("[seeder]", [(k, _field(k, v, units)) for k, v in typed.machine if v.strip()])
    if soil := _words(typed.soil):
        lines += _table("[soil]", list(soil.items()))
    length = with_unit(typed.bed_length, _LARGE[typed.units])
    if length:
        lines += _table("[beds]", [("length", toml_string(length))])
    for one in typed.crops:
        fields = [("crop", toml_string(clean(one.crop)))]
        spacing = with_unit(one.spacing, _SMALL[units])
        if spacing:
            fields.append(("spacing", toml_string(spacing)))
        for key in ("germination", "field_emergence"):
            if written := getattr(one, key).strip():
                fields.append((key, f"{share_typed(key, written):.12g}"))
        lines += _table("[[sowing]]", fields)
    return "\n".join(lines) + "\n"


def _words(fields: tuple[tuple[str, str], ...]) -> dict[str, str]:
    """Those fields that were typed, as TOML strings."""
    return {key: toml_string(clean(text)) for key, text in fields if clean(text)}


def _table(title: str, fields: list[tuple[str, str]]) -> list[str]:
    return ["", title, *(f"{key} = {value}" for key, value in fields)]


_NUMBERS = ("gear_turns_per_wheel_turn", "row_units")
_WORDS = ("turns_of", "name", "id", "tyre")
_UNITS = {"tyre_pressure": {"metric": "bar", "us": "psi"}, "ballast": {"metric": "kg", "us": "lb"}}
"""Of a bare number that is no length."""


def _field(key: str, text: str, units: UnitSystem) -> str:
    """A field of the machine as TOML."""
    if key in _NUMBERS:
        return _number(key, text)
    if key in _WORDS:
        return toml_string(clean(text))
    if key == "settings":
        return f"[{', '.join(toml_string(clean(one)) for one in text.split(',') if one.strip())}]"
    return toml_string(with_unit(text, _UNITS.get(key, _SMALL)[units]))


def _number(key: str, text: str) -> str:
    plain = text.strip().replace(",", ".")
    if not re.fullmatch(r"\d{1,9}(\.\d{1,9})?", plain, re.A):
        raise RunFileError(
            f"{key}: {clean(text, 40)!r} is no plain number", file=RUN, column=key, cell=text
        )
    whole, dot, rest = plain.partition(".")
    return f"{int(whole)}{dot}{rest}"


def share_typed(key: str, text: str) -> float:
    """A share typed as 0.81, 81 % or 81.

    Raises
    ------
    RunFileError : it is no plain number.
    """
    number = float(_number(key, text.replace("%", "").strip().replace(",", ".")))
    return number / 100 if "%" in text or number > 1 else number


def toml_string(text: str) -> str:
    """A TOML basic string, of which JSON's is one but for the character 7F [TOML 1.0.0]."""
    safe = _one_line(text).encode("utf-8", "replace").decode()
    return json.dumps(safe, ensure_ascii=False).replace("\x7f", "\\u007f")
