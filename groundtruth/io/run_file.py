"""A run description in TOML: which files, which machine, which crops. See docs/run-file.md."""

from __future__ import annotations

import re
import tomllib
from datetime import UTC
from os import PathLike
from pathlib import Path
from typing import TypeVar

from ..core.crops import Crop, exact_share, plants_per_metre
from ..core.errors import InputError, RunFileError
from ..core.run import Beds, Run
from ..core.seeder import Seeder, gear_ratio
from ..core.units import parse_length, parse_length_measured
from .decoding import clean, decode
from .files import MAX_RUN_BYTES, read_file
from .run_table import BEDS, SEEDER, SOWING, TOP, Table
from .sheets.turns import read_turns
from .timestamps import local_day, zone_named
from .tracks.read import read_track

_DEEP_KEY = re.compile(r"(?:[\w\"'-]{1,80}[ \t]{0,9}\.[ \t]{0,9}){30}")
T = TypeVar("T")


def read_run(path: str | PathLike[str]) -> Run:
    """The run that a description file names, with its track and turns read.

    ``inputs`` and ``notices`` of the run hold those of the track and the turn sheet too. Times of
    day in the turn sheet are taken on the day on which the track begins in the run's time zone.

    Raises
    ------
    RunFileError : a field is missing, unknown or unusable.
    TrackFileError, TurnSheetError, SeederError : a named file or the machine cannot be used.
    """
    data, file = read_file(path, error=RunFileError, what="run file", limit=MAX_RUN_BYTES)
    text, remark = decode(data)
    if remark:
        raise RunFileError(f"{file.name}: is not UTF-8 text; save it as UTF-8 (plain text)")
    if _DEEP_KEY.search(text):  # costs tomllib memory by the square of the number of dots
        raise RunFileError(f"{file.name}: has a key of more than 30 parts; see docs/run-file.md")
    try:
        fields = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as why:
        raise RunFileError(f"{file.name}{_toml_words(str(why), text)}") from None
    top = Table(file.name, text, "", fields)
    top.only(TOP)
    folder = Path(path).parent
    time_zone = top.text("time_zone")
    zone = zone_named(time_zone, RunFileError, top.where("time_zone")) if time_zone else UTC
    units = top.choice("units", ("metric", "us"), "metric")
    seeder = _seeder(top.table("seeder"))
    beds = _beds(top.table("beds"))
    crops = tuple(_crop(table) for table in top.tables("sowing"))
    tracks = top.paths("track")
    turns_path = top.text("turns")
    for name, given in (("track", tracks), ("turns", turns_path)):
        if not given:
            raise RunFileError(
                f"{file.name}: {name} is missing; write for example {name} = "
                f'"{"track.gpx" if name == "track" else "turns.csv"}"'
            )
    track = read_track([folder / one for one in tracks], time_zone=time_zone or None)
    turns = read_turns(
        folder / str(turns_path),
        time_zone=time_zone or None,
        day=local_day(float(track.time_s[0]), zone),
    )
    return Run(
        name=clean(top.text("name")) or _default_name(Path(path)),
        track=track,
        turns=turns,
        seeder=seeder,
        crops=crops,
        beds=beds,
        units=units,  # type: ignore[arg-type] # one of the two choices
        time_zone=time_zone or "UTC",
        inputs=(file, *track.inputs, *turns.inputs),
        notices=(*track.notices, *turns.notices),
    )


def _default_name(path: Path) -> str:
    stem = path.stem
    if stem == "run":
        stem = path.resolve().parent.name or stem
    return clean(stem) or "run"


def _toml_words(why: str, text: str) -> str:
    """tomllib's message with the line in front, and a hint where a quantity lacks its quotes."""
    match = re.search(r"\(at (?:line (\d+), column \d+|end of document)\)", why)
    reason = clean(re.sub(r"\s*\(at .*", "", why))
    if not match:
        return f": is no TOML: {reason}"
    lines = text.splitlines()
    number = int(match[1]) if match[1] else max(1, len(lines))
    written = lines[number - 1] if number <= len(lines) else ""
    hint = ""
    if re.search(r"=\s*[^\"'\[{\s#][^\"']*$", written) and not re.search(
        r"=\s*(true|false|[\d.]+)\s*(#.*)?$", written
    ):
        hint = '; text and quantities stand in quotes, as in "1.92 m"'
    return f", line {number}: is no TOML: {reason}{hint}"


def _above_zero(text: str, *, what: str) -> float:
    return parse_length(text, what=what, above_zero=True)


def _seeder(table: Table) -> Seeder:
    table.only(SEEDER)
    ratio = table.number("gear_turns_per_wheel_turn")
    turns_of = table.choice("turns_of", ("gear", "wheel"), "gear")
    if "teeth" in table.fields:
        if ratio is not None:
            raise RunFileError(
                f"{table.where('teeth')} gives both teeth and gear_turns_per_wheel_turn; keep one"
            )
        ratio = _teeth(table)
    row_units = table.number("row_units")
    if row_units is not None and (not row_units.is_integer() or row_units > 1000):
        raise table.fail("row_units", f"{row_units:g} must be a whole number of row units")
    try:
        return Seeder(
            turns_of=turns_of,  # type: ignore[arg-type] # one of the two choices
            wheel_circumference=table.quantity("wheel_circumference", parse_length_measured),
            gear_turns_per_wheel_turn=1.0 if ratio is None else ratio,
            ground_per_gear_turn_in_use_m=table.quantity(
                "ground_per_gear_turn_in_use", _above_zero
            ),
            row_units=None if row_units is None else int(row_units),
            row_spacing_m=table.quantity("row_spacing", _above_zero),
            bed_width_m=table.quantity("bed_width", _above_zero),
            bed_spacing_m=table.quantity("bed_spacing", _above_zero),
            antenna_ahead_m=table.quantity("antenna_ahead", parse_length) or 0.0,
            antenna_right_m=table.quantity("antenna_right", parse_length) or 0.0,
            settings=_settings(table),
        )
    except RunFileError:
        raise
    except InputError as why:
        raise type(why)(f"{table.where(str(why).split(' ')[0].rstrip(':'))} {why}") from None


def _beds(table: Table) -> Beds:
    table.only(BEDS)
    try:
        return Beds(
            taped=table.quantity("length", parse_length_measured),
            alike_within_m=table.quantity("alike_within", parse_length),
        )
    except RunFileError as why:
        if str(why).startswith("alike_within"):
            raise RunFileError(f"{table.where('alike_within')} {why}") from None
        raise


def _settings(table: Table) -> tuple[str, ...]:
    value = table.fields.get("settings", [])
    if not isinstance(value, list) or not all(isinstance(one, str) for one in value):
        raise table.fail(
            "settings", 'must be a list from fewest to most seeds, as in ["F1", "F2", "C1"]'
        )
    return tuple(clean(one) for one in value)


def _teeth(table: Table) -> float:
    value = table.fields["teeth"]
    if isinstance(value, list) and len(value) == 2 and all(type(one) is int for one in value):
        value = [value]  # a single pair without the outer brackets
    pairs = []
    for pair in value if isinstance(value, list) else [None]:
        if not (
            isinstance(pair, list) and len(pair) == 2 and all(type(one) is int for one in pair)
        ):
            raise table.fail(
                "teeth", "must be pairs of [driving, driven] teeth, as in [[24, 12], [18, 12]]"
            )
        pairs.append((pair[0], pair[1]))
    try:
        return gear_ratio(pairs)
    except InputError as why:
        raise type(why)(f"{table.where('teeth')} {why}") from None


def _crop(table: Table) -> Crop:
    table.only(SOWING)
    crop = clean(table.text("crop"))
    if not crop:
        raise RunFileError(f'{table.where("spacing")} crop is missing; write crop = "beet"')
    spacing = table.quantity("spacing", _above_zero)
    if spacing is None:
        raise RunFileError(
            f"{table.where('crop')} spacing is missing for {crop}; write for example "
            'spacing = "4 cm"'
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
        field = next((name for name in shares if name in str(why)), "crop")
        raise RunFileError(f"{table.where(field)} crop {crop}: {why}") from None
