"""What a person typed, read back from the open files of a run, to be typed on."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ..core.errors import InputError, RunFileError
from ..core.run import UnitSystem
from ..core.safe_text import clean
from ..io.files import MAX_RUN_BYTES, Source, load, shown_name
from ..io.run_file import named_files, run_table
from ..io.run_seeder import read_seeder
from ..io.run_table import BEDS, ORIGIN, SEEDER, SOIL, SOWING, RunTable
from ..io.sheets.rows import Row
from ..io.sheets.turns import turn_rows
from .typed_run import TypedCrop, TypedPass

_KEPT_OF_TOP = ("name", *ORIGIN, "track", "turns", "time_zone", "units")
_TABLES = ("seeder", "soil", "beds", "sowing")
_OF_A_PASS = ("setting", "crop", "bed", "taped")


@dataclass(frozen=True, slots=True, kw_only=True)
class RunForm:
    """A run's description as it would be typed, and the ``files`` that it names.

    ``left_out`` are fields that cannot be typed.
    """

    name: str
    units: UnitSystem
    time_zone: str
    files: tuple[str, ...]
    machine: tuple[tuple[str, str], ...]
    origin: tuple[tuple[str, str], ...]
    soil: tuple[tuple[str, str], ...]
    bed_length: str
    crops: tuple[TypedCrop, ...]
    left_out: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CountForm:
    """The counts of a sheet as they would be typed beside passes.

    Passes are numbered as found in the track; a strip's number counts the strips.
    """

    row_units: tuple[str, ...]
    passes: tuple[TypedPass, ...]


def form_of_run(run: Source) -> RunForm:
    """What stands in a run's description.

    Raises
    ------
    RunFileError, SeederError : the description cannot be used.
    """
    top = run_table(load(run, error=RunFileError, what="run file", limit=MAX_RUN_BYTES))
    seeder, soil, beds = (top.table(name) for name in _TABLES[:3])
    machine = {key: _as_typed(seeder.fields[key]) for key in SEEDER if key in seeder.fields}
    ratio = read_seeder(seeder).gear_turns_per_wheel_turn
    if machine.pop("teeth", None):
        machine["gear_turns_per_wheel_turn"] = f"{ratio:.9g}"
    soil.only(SOIL)
    beds.only(BEDS)
    named = named_files(top)
    others = [key for key in top.fields if key not in (*_KEPT_OF_TOP, *_TABLES)]
    return RunForm(
        name=clean(top.text("name")),
        units="us" if top.choice("units", ("metric", "us"), "metric") == "us" else "metric",
        time_zone=clean(top.text("time_zone")),
        files=tuple(shown_name(name) for names in named.values() for name in names),
        machine=tuple(machine.items()),
        origin=tuple((key, clean(top.text(key))) for key in ORIGIN),
        soil=tuple((key, clean(soil.text(key))) for key in SOIL),
        bed_length=clean(beds.text("length")),
        crops=tuple(_crop(one) for one in top.tables("sowing")),
        left_out=(*others, *(key for key in beds.fields if key != "length")),
    )


def counts_of(sheet: Source) -> CountForm | None:
    """The counts of a sheet, None where it cannot be typed beside the passes of a track.

    So it is where it numbers no passes of the track, gives their instants, or says different
    things of the row units of one pass.

    Raises
    ------
    TurnSheetError : the sheet cannot be read.
    """
    rows = turn_rows(sheet)
    if not {"track_pass", "turns"} <= rows.columns:
        return None
    by_pass: dict[str, list[Row]] = {}
    for row in rows:
        by_pass.setdefault(row.text("track_pass").casefold(), []).append(row)
    units = tuple(dict.fromkeys(row.text("unit") or "1" for row in rows))
    passes = [_typed_pass(which, of_pass, units) for which, of_pass in by_pass.items()]
    found = tuple(one for one in passes if one is not None)
    return CountForm(row_units=units, passes=found) if len(found) == len(passes) else None


def _typed_pass(which: str, rows: list[Row], units: tuple[str, ...]) -> TypedPass | None:
    kind, _, number = which.rpartition(" ")
    said = {key: _one(row.text(key) for row in rows) for key in (*_OF_A_PASS, "start", "end")}
    start, end = said.pop("start"), said.pop("end")
    strip = kind == "strip"
    if (
        not (number.isascii() and number.isdigit() and len(number) < 7 and kind in ("", "strip"))
        or any(one is None for one in (*said.values(), start, end))
        or strip is not bool(start and end)
        or bool(start) is not bool(end)
    ):
        return None
    turns = {row.text("unit") or "1": row.text("turns") for row in rows}
    return TypedPass(
        number=int(number),
        turns=tuple(turns.get(unit, "") for unit in units),
        strip=(start or "", end or "") if strip else None,
        setting=said["setting"] or "",
        crop=said["crop"] or "",
        bed=said["bed"] or "",
        taped=said["taped"] or "",
    )


def _one(texts: Iterable[str]) -> str | None:
    """The one text among those that are not empty, "" where all are, None where they differ."""
    found = {text for text in texts if text}
    return None if len(found) > 1 else next(iter(found), "")


def _crop(table: RunTable) -> TypedCrop:
    table.only(SOWING)
    shares = {
        key: "" if (share := table.number(key)) is None else f"{share:.12g}"
        for key in ("germination", "field_emergence")
    }
    crop, spacing = clean(table.text("crop")), clean(table.text("spacing"))
    return TypedCrop(crop=crop, spacing=spacing, **shares)


def _as_typed(value: object) -> str:
    """A field of the machine as text.

    Raises
    ------
    InputError : it is a table.
    """
    if isinstance(value, list):
        return ", ".join(clean(str(one)) for one in value)
    if isinstance(value, float):
        return f"{value:.9g}"
    if isinstance(value, str | int):
        return clean(str(value))
    raise InputError("a field of the seeder is no text, number or list")
