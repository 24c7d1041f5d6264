"""A run description in TOML: which files, which machine, which crops. See docs/run-file.md."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping
from datetime import UTC
from pathlib import Path
from typing import Any, get_args

from ..core.crops import Crop, exact_share, plants_per_metre
from ..core.errors import InputError, RunFileError
from ..core.origin import MOISTURES, TEXTURES, Origin, Soil
from ..core.run import Beds, ReceiverKind, Run
from ..core.safe_text import clean
from ..core.units import parse_length, parse_length_measured
from .decoding import decode
from .files import MAX_RUN_BYTES, FileInput, Source, load, shown_name
from .run_seeder import above_zero, read_seeder
from .run_table import BEDS, ORIGIN, SOIL, SOWING, TOP, RunTable
from .sheets.turns import read_turns
from .timestamps import DATE_ORDERS, local_day, zone_named
from .tracks.read import read_track

_TOKEN = re.compile(
    r'"""(?s:.*?)(?:"""|\Z)|\'\'\'(?s:.*?)(?:\'\'\'|\Z)'
    r'|(?P<part>"(?:[^"\\\n]|\\.)*"?|\'[^\'\n]*\'?|[\w-]+)|(?P<dot>\.)|#[^\n]*|[ \t]+|.',
    re.S,
)
"""Each is taken once, closed or not, so that the time is linear."""
MOST_PARTS = 30


def read_run(run: FileInput, *, files: Iterable[Source] = (), name: str = "") -> Run:
    """The run that a description file names, with its track and turns read.

    The files that it names lie in its folder, or are handed over as ``files``, where they are
    found by their names without folders. If the description itself is a `Source`, all are.
    ``name`` is the run's where its description gives none: that of its file, or of the folder of a
    run.toml, unless said otherwise.

    ``inputs`` and ``notices`` of the run hold those of the track and the turn sheet too. Times of
    day in the turn sheet are taken on the day on which the track begins in the run's time zone.

    Raises
    ------
    RunFileError : a field is missing, unknown or unusable.
    TrackFileError, TurnSheetError, SeederError : a named file or the machine cannot be used.
    """
    source = load(run, error=RunFileError, what="run file", limit=MAX_RUN_BYTES)
    top = run_table(source)
    time_zone = top.text("time_zone")
    zone = zone_named(time_zone, lambda why: top.error("time_zone", why)) if time_zone else UTC
    units = top.choice("units", ("metric", "us"), "metric")
    receiver = top.choice_if_there("receiver", get_args(ReceiverKind))
    date_order = top.choice_if_there("date_order", DATE_ORDERS)
    seeder = read_seeder(top.table("seeder"))
    soil = _soil(top.table("soil"))
    beds = _beds(top.table("beds"))
    crops = tuple(_crop(table) for table in top.tables("sowing"))
    named = named_files(top)
    held = {one.name: one for one in files}

    def found(field: str) -> list[FileInput]:
        """The files that a field names."""
        return [_file_named(name, field, held, run, top) for name in named[field]]

    track = read_track(found("track"), time_zone=time_zone or None)
    (turns_file,) = found("turns")
    day = local_day(float(track.time_s[0]), zone)
    turns = read_turns(
        turns_file,
        time_zone=time_zone or None,
        day=day,
        date_order=date_order,
        recording_start_s=float(track.time_s[0]),
    )
    return Run(
        name=clean(top.text("name")) or name or default_name(run),
        track=track,
        turns=turns,
        seeder=seeder,
        crops=crops,
        beds=beds,
        units=units,  # type: ignore[arg-type] # one of the two choices
        time_zone=time_zone or "UTC",
        receiver=receiver,
        inputs=(source.file, *track.inputs, *turns.inputs),
        origin=Origin(**{name: clean(top.text(name)) for name in ORIGIN}),
        soil=soil,
        notices=(
            *track.notices,
            *turns.notices,
            *seeder.doubts(source.name),
            *(doubt for crop in crops for doubt in crop.doubts(source.name)),
        ),
    )


def run_table(source: Source) -> RunTable:
    """The uppermost table of a run file.

    Raises
    ------
    RunFileError : it is no TOML, or has a field that is not known.
    """
    top = RunTable(source.name, *_parse_toml(source))
    top.only(TOP)
    return top


def named_files(top: RunTable) -> dict[str, list[str]]:
    """The names of the files that each of the fields "track" and "turns" gives, one at least.

    Raises
    ------
    RunFileError : a field is missing, or holds no names.
    """
    named = {"track": top.paths("track"), "turns": [top.text("turns")]}
    for field, example in (("track", "track.gpx"), ("turns", "turns.csv")):
        if not any(named[field]):
            raise RunFileError(
                f'{field} is missing; write for example {field} = "{example}"',
                file=top.file,
                column=field,
            )
    return named


def _file_named(
    name: str, field: str, held: Mapping[str, Source], run: FileInput, top: RunTable
) -> FileInput:
    """The file of that name: handed over, or in the folder of the run's description."""
    shown = shown_name(name)
    if shown in held:
        return held[shown]
    if isinstance(run, Source):
        raise top.error(field, f"names {shown}, which was not handed over; add it")
    return Path(run).parent / name


def default_name(run: FileInput) -> str:
    """The name of a run whose description gives none, by the place of that description."""
    path = Path(run.name if isinstance(run, Source) else run)
    stem = path.stem
    if stem == "run" and not isinstance(run, Source):
        stem = path.resolve().parent.name or stem
    return clean(stem) or "run"


def _parse_toml(source: Source) -> tuple[str, str, dict[str, Any]]:
    """The text of a run file, "" as the title of its uppermost table, and its fields."""
    text, remark = decode(source.data)
    if remark:
        raise RunFileError("is not UTF-8 text; save it as UTF-8 (plain text)", file=source.name)
    if _parts_of_a_key(text) > MOST_PARTS:  # cost tomllib memory by the square of their number
        raise RunFileError(
            f"has a key of more than {MOST_PARTS} parts; see docs/run-file.md", file=source.name
        )
    try:
        fields = tomllib.loads(text)
    except (ValueError, RecursionError) as why:
        raise _no_toml(source.name, str(why), text) from None
    _check_integers(fields, source.name)
    return text, "", fields


def _parts_of_a_key(text: str) -> int:
    """How many parts the longest dotted key has, quoted or not, or what looks like one."""
    most = parts = 0
    for token in _TOKEN.finditer(text):
        if token["dot"]:
            parts += 1
        elif not token["part"] and token[0].strip(" \t"):
            parts = 0
        most = max(most, parts + 1)
    return most


def _check_integers(fields: dict[str, Any], file: str) -> None:
    """Refuse integers that TOML does not know, before anything computes with or shows them."""
    waiting: list[Any] = [fields]
    while waiting:
        value = waiting.pop()
        if isinstance(value, dict):
            waiting += value.values()
        elif isinstance(value, list):
            waiting += value
        elif isinstance(value, int) and not -(2**63) <= value < 2**63:
            raise RunFileError("holds a whole number of more than 64 bits", file=file)


def _no_toml(name: str, why: str, text: str) -> RunFileError:
    """tomllib's message placed on its line, with a hint where a quantity lacks its quotes."""
    match = re.search(r"\(at (?:line (\d+), column \d+|end of document)\)", why)
    reason = clean(re.sub(r"\s*\(at .*", "", why))
    if not match:
        return RunFileError(f"is no TOML: {reason}", file=name)
    lines = text.splitlines()
    number = int(match[1]) if match[1] else max(1, len(lines))
    written = lines[number - 1] if number <= len(lines) else ""
    hint = ""
    if re.search(r"=\s*[^\"'\[{\s#][^\"']*$", written) and not re.search(
        r"=\s*(true|false|[\d.]+)\s*(#.*)?$", written
    ):
        hint = '; text and quantities stand in quotes, as in "1.92 m"'
    return RunFileError(f"is no TOML: {reason}{hint}", file=name, line=number)


def _soil(table: RunTable) -> Soil:
    table.only(SOIL)
    return Soil(
        moisture=table.choice_if_there("moisture", MOISTURES),
        texture=table.choice_if_there("texture", TEXTURES),
    )


def _beds(table: RunTable) -> Beds:
    table.only(BEDS)
    try:
        return Beds(
            taped=table.quantity("length", parse_length_measured),
            alike_within_m=table.quantity("alike_within", parse_length),
        )
    except RunFileError as why:
        raise (why if why.file else table.placed(why, why.column)) from None


def _crop(table: RunTable) -> Crop:
    table.only(SOWING)
    crop = clean(table.text("crop"))
    if not crop:
        raise table.error("crop", 'crop is missing; write crop = "beet"', beside="spacing")
    spacing = table.quantity("spacing", above_zero)
    if spacing is None:
        raise table.error(
            "spacing",
            f'spacing is missing for {crop}; write for example spacing = "4 cm"',
            beside="crop",
        )
    shares = {
        name: 1.0 if (share := table.number(name)) is None else share
        for name in ("germination", "field_emergence")
    }
    try:
        return Crop(
            name=crop,
            plants_per_m=plants_per_metre(spacing),
            germination=exact_share("germination", shares["germination"]),
            field_emergence=exact_share("field_emergence", shares["field_emergence"]),
        )
    except InputError as why:
        reason = f"crop {crop}: {why.reason}"
        raise table.placed(RunFileError(reason), why.column or "crop") from None
