"""Read a result back from JSON, refusing in one clear line whatever is not one."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from math import isfinite
from typing import Any, NoReturn, TypeVar, cast

from ...core.crops import Crop, Target, plants_per_metre
from ...core.errors import GroundtruthError, InputError
from ...core.measured import Measured
from ...core.notices import Notice
from ...core.result import Advice, PassFigure, PassLine, Result, Share, UnitFigure
from ...core.run import UnitSystem
from ...core.safe_text import visible
from ...core.seeder import Seeder
from ...core.track import InputFile
from ...core.uncertainty import UncertaintySource
from .write import SCHEMA_VERSION, TOOL

T = TypeVar("T")


def result_from_json(text: str, name: str = "result.json") -> Result:
    """The result that `result_to_json` wrote; ``name`` is what errors call the text.

    Instants come back to the microsecond, everything else exactly.

    Raises
    ------
    InputError : not JSON, not a result of this tool, of another version of its form, or a key is
        missing or holds something else than it should.
    """
    try:
        data = json.loads(text, parse_constant=_no_constant)
    except (ValueError, RecursionError) as err:
        raise InputError(
            f"{name}: not a result ({visible(str(err), 120)}); give the result.json that "
            "groundtruth measure wrote"
        ) from err
    if not isinstance(data, dict) or data.get("tool") != TOOL:
        raise InputError(
            f"{name}: this JSON is not a result of groundtruth; give the result.json that "
            "groundtruth measure wrote"
        )
    node = _Node(data=data, place=name)
    version = node.whole("schema_version")
    if version != SCHEMA_VERSION:
        remedy = "update groundtruth" if version > SCHEMA_VERSION else "measure the run again"
        raise InputError(
            f"{name}: written in version {version} of the result's form, this groundtruth reads "
            f"version {SCHEMA_VERSION}; {remedy}"
        )
    try:
        return _result(node)
    except (GroundtruthError, ValueError) as err:
        if isinstance(err, InputError) and str(err).startswith(f"{name}: "):
            raise
        raise InputError(f"{name}: {err}") from err


def _no_constant(word: str) -> NoReturn:
    raise ValueError(f"{word} is not a number that JSON knows")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Node:
    """A JSON object whose keys are taken out by type; ``place`` names it in errors."""

    data: dict[str, Any]
    place: str

    def refuse(self, key: str, wanted: str) -> NoReturn:
        if key not in self.data:
            raise InputError(f"{self.place}: {key} is missing")
        found = visible(json.dumps(self.data[key]), 40)
        raise InputError(f"{self.place}: {key} is {found}; it should be {wanted}")

    def text(self, key: str) -> str:
        value = self.data.get(key)
        return value if isinstance(value, str) else self.refuse(key, "text")

    def texts(self, key: str) -> tuple[str, ...]:
        value = self.data.get(key)
        if not isinstance(value, list) or not all(isinstance(one, str) for one in value):
            self.refuse(key, "a list of texts")
        return tuple(value)

    def one_of(self, key: str, words: tuple[str, ...]) -> str:
        value = self.data.get(key)
        known = isinstance(value, str) and value in words
        return str(value) if known else self.refuse(key, " or ".join(words))

    def truth(self, key: str) -> bool:
        value = self.data.get(key)
        return value if isinstance(value, bool) else self.refuse(key, "true or false")

    def whole(self, key: str) -> int:
        value = self.data.get(key)
        whole = isinstance(value, int) and not isinstance(value, bool)
        return cast(int, value) if whole else self.refuse(key, "a whole number")

    def number(self, key: str) -> float:
        value = _as_number(self.data.get(key))
        return value if value is not None else self.refuse(key, "a number")

    def numbers(self, key: str) -> tuple[float, ...]:
        value = _as_numbers(self.data.get(key))
        return value if value is not None else self.refuse(key, "a list of numbers")

    def two(self, key: str) -> tuple[float, float]:
        value = _as_numbers(self.data.get(key))
        if value is None or len(value) != 2:
            self.refuse(key, "two numbers")
        return value[0], value[1]

    def pairs(self, key: str) -> tuple[tuple[float, float], ...]:
        value = self.data.get(key)
        found = [_as_numbers(pair) for pair in value] if isinstance(value, list) else [None]
        if any(pair is None or len(pair) != 2 for pair in found):
            self.refuse(key, "a list of pairs of longitude and latitude")
        return cast(tuple[tuple[float, float], ...], tuple(found))

    def instant_s(self, key: str) -> float:
        try:
            instant = datetime.fromisoformat(self.text(key))
        except ValueError:
            self.refuse(key, "an instant such as 2026-05-12T06:41:07Z")
        if instant.tzinfo is None:
            self.refuse(key, "an instant with its zone, such as 2026-05-12T06:41:07Z")
        return instant.timestamp()

    def measured(self, name: str, unit: str = "") -> Measured:
        std = self.number(f"{name}_u{unit}")
        if std < 0:
            self.refuse(f"{name}_u{unit}", "0 or more")
        return Measured(self.number(f"{name}{unit}"), std)

    def share(self, name: str) -> Measured:
        """A share, exact where its uncertainty was not written yet."""
        return self.measured(name) if f"{name}_u" in self.data else Measured(self.number(name))

    def maybe(self, key: str, read: Callable[[], T]) -> T | None:
        """What ``read`` gives, None where the key is there and null."""
        if key not in self.data:
            self.refuse(key, "there")
        return None if self.data[key] is None else read()

    def child(self, key: str) -> _Node:
        value = self.data.get(key)
        data = value if isinstance(value, dict) else self.refuse(key, "an object")
        return _Node(data=data, place=f"{self.place}: {key}")

    def children(self, key: str) -> Iterator[_Node]:
        value = self.data.get(key)
        if not (isinstance(value, list) and all(isinstance(entry, dict) for entry in value)):
            self.refuse(key, "a list of objects")
        for index, entry in enumerate(value, start=1):
            yield _Node(data=entry, place=f"{self.place}: {key}, entry {index}")


def _as_number(value: object) -> float | None:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    try:
        number = float(value)
    except OverflowError:  # a whole number of more than 308 digits
        return None
    return number if isfinite(number) else None


def _as_numbers(value: object) -> tuple[float, ...] | None:
    if not isinstance(value, list):
        return None
    numbers = [_as_number(entry) for entry in value]
    if any(number is None for number in numbers):
        return None
    return cast(tuple[float, ...], tuple(numbers))


def _result(node: _Node) -> Result:
    return Result(
        run_name=node.text("run_name"),
        date=node.text("date"),
        time_zone=node.text("time_zone"),
        units=cast(UnitSystem, node.one_of("units", ("metric", "us"))),
        seeder=_seeder(node),
        ground_per_turn=node.measured("ground_per_turn", "_m"),
        ground_per_turn_95=node.two("ground_per_turn_95_m"),
        slip=node.maybe("slip", lambda: node.measured("slip")),
        slip_95=node.maybe("slip_95", lambda: node.two("slip_95")),
        change=node.maybe("change", lambda: node.measured("change")),
        spread_between_passes=node.measured("spread_between_passes", "_m"),
        passes=tuple(_pass(entry) for entry in node.children("passes")),
        row_units=tuple(_row_unit(entry) for entry in node.children("row_units")),
        lines=tuple(_line(entry) for entry in node.children("lines")),
        budget=tuple(
            Share(
                source=UncertaintySource(entry.one_of("source", tuple(UncertaintySource))),
                std_m=entry.number("u_m"),
                share=entry.number("share"),
            )
            for entry in node.children("budget")
        ),
        targets=tuple(_target(entry) for entry in node.children("targets")),
        advice=tuple(
            Advice(kind=entry.text("kind"), text=entry.text("text"))
            for entry in node.children("advice")
        ),
        repairs=_notices(node, "repairs"),
        warnings=_notices(node, "warnings"),
        facts=_notices(node, "facts"),
        inputs=tuple(
            InputFile(name=entry.text("name"), sha256=entry.text("sha256"))
            for entry in node.children("inputs")
        ),
        tool_version=node.text("tool_version"),
        fixes=node.pairs("fixes"),
    )


def _seeder(node: _Node) -> Seeder:
    seeder = node.child("seeder")
    return Seeder(
        turns_of="gear" if seeder.one_of("turns_of", ("gear", "wheel")) == "gear" else "wheel",
        wheel_circumference=seeder.maybe(
            "wheel_circumference_m", lambda: seeder.measured("wheel_circumference", "_m")
        ),
        gear_turns_per_wheel_turn=seeder.number("gear_turns_per_wheel_turn"),
        ground_per_gear_turn_in_use_m=node.maybe(
            "ground_per_turn_in_use_m", lambda: node.number("ground_per_turn_in_use_m")
        ),
        row_units=seeder.maybe("row_units", lambda: seeder.whole("row_units")),
        row_spacing_m=seeder.maybe("row_spacing_m", lambda: seeder.number("row_spacing_m")),
        bed_width_m=seeder.maybe("bed_width_m", lambda: seeder.number("bed_width_m")),
        bed_spacing_m=seeder.maybe("bed_spacing_m", lambda: seeder.number("bed_spacing_m")),
        antenna_ahead_m=seeder.number("antenna_ahead_m"),
        antenna_right_m=seeder.number("antenna_right_m"),
        settings=seeder.texts("settings"),
    )


def _pass(entry: _Node) -> PassFigure:
    return PassFigure(
        number=entry.whole("number"),
        unit=entry.text("unit"),
        start_s=entry.instant_s("start"),
        end_s=entry.instant_s("end"),
        start_found=entry.text("start_found"),
        end_found=entry.text("end_found"),
        distance=entry.measured("distance", "_m"),
        turns=entry.measured("turns"),
        ground_per_turn=entry.measured("ground_per_turn", "_m"),
        slip=entry.maybe("slip", lambda: entry.measured("slip")),
        setting=entry.text("setting"),
        crop=entry.text("crop"),
        bed=entry.text("bed"),
    )


def _row_unit(entry: _Node) -> UnitFigure:
    return UnitFigure(
        unit=entry.text("unit"),
        passes=entry.whole("passes"),
        ground_per_turn=entry.measured("ground_per_turn", "_m"),
        slip=entry.maybe("slip", lambda: entry.measured("slip")),
        turns_against_others=entry.maybe(
            "turns_against_others", lambda: entry.measured("turns_against_others")
        ),
        lags=entry.truth("lags"),
    )


def _target(entry: _Node) -> Target:
    return Target(
        crop=_crop(entry),
        seeds_per_turn=entry.measured("seeds_per_turn"),
        seeds_per_turn_95=entry.two("seeds_per_turn_95"),
        seeds_per_turn_in_use=entry.maybe(
            "seeds_per_turn_in_use", lambda: entry.number("seeds_per_turn_in_use")
        ),
    )


def _crop(entry: _Node) -> Crop:
    spacing_m = entry.maybe("spacing_m", lambda: entry.number("spacing_m"))
    return Crop(
        name=entry.text("crop"),
        plants_per_m=None if spacing_m is None else plants_per_metre(spacing_m),
        seeds_per_m=entry.number("rate_per_m") if spacing_m is None else None,
        germination=entry.share("germination"),
        field_emergence=entry.share("field_emergence"),
    )


def _line(entry: _Node) -> PassLine:
    axis = entry.pairs("axis")
    times, lon, lat = (entry.numbers(key) for key in ("time_s", "longitude_deg", "latitude_deg"))
    if len(axis) != 2 or not len(times) == len(lon) == len(lat):
        raise InputError(f"{entry.place}: needs two ends of the axis, and as many times as places")
    return PassLine(
        number=entry.whole("number"),
        time_s=times,
        longitude_deg=lon,
        latitude_deg=lat,
        axis=(axis[0], axis[1]),
        axis_deg=entry.number("axis_deg"),
        speed_m_s=entry.number("speed_m_s"),
    )


def _notices(node: _Node, key: str) -> tuple[Notice, ...]:
    found = []
    for entry in node.children(key):
        kind = entry.one_of("kind", ("repair", "warning", "fact"))
        found.append(
            Notice(
                kind="repair" if kind == "repair" else "warning" if kind == "warning" else "fact",
                text=entry.text("text"),
                count=entry.whole("count"),
                where=entry.text("where"),
            )
        )
    return tuple(found)
