"""Read a result back from JSON, refusing in one clear line whatever is not one."""

from __future__ import annotations

from typing import Any, Literal, cast
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from ...core.crops import Crop, Target, plants_per_metre
from ...core.errors import GroundtruthError, InputError
from ...core.findings import Advice, AdviceKind, Finding, FindingKind, ReceiverEvidence
from ...core.notices import Notice
from ...core.result import (
    CellReason,
    CellVerdict,
    Judgement,
    PassFigure,
    PassLine,
    Result,
    Share,
    UnitFigure,
)
from ...core.run import UnitSystem
from ...core.safe_text import visible
from ...core.track import InputFile
from ...core.uncertainty import UncertaintySource
from ..bounded_json import MAX_MEMORY, memory_of, parse_json
from .described import origin_of, seeder_of, soil_of
from .node import JsonNode
from .recorded import distances_of_json, recording_of_json, with_fleet_of
from .write import SCHEMA_VERSION, TOOL

OLDEST_VERSION = 1
"""Version 1 held the advice as sentences, and what measuring found among the notices."""


def result_from_json(text: str, name: str = "result.json") -> Result:
    """The result that `result_to_json` wrote; ``name`` is what errors call the text.

    Instants come back to the microsecond, everything else exactly; of version 1 the advice, which
    was sentences, is left out.

    Raises
    ------
    InputError : not JSON, not a result of this tool, of another version of its form, or a key is
        missing or holds something else than it should.
    """
    try:
        if memory_of(text.encode("utf-8", "replace")) > MAX_MEMORY:
            raise ValueError("too many values to be one")
        data = parse_json(text)
    except ValueError as err:
        raise InputError(
            f"not a result ({visible(str(err), 120)}); give the result.json that groundtruth "
            "measure wrote",
            file=name,
        ) from err
    if not isinstance(data, dict) or data.get("tool") != TOOL:
        raise InputError(
            "this JSON is not a result of groundtruth; give the result.json that groundtruth "
            "measure wrote",
            file=name,
        )
    node = JsonNode(data=data, file=name)
    version = node.whole("schema_version")
    if not OLDEST_VERSION <= version <= SCHEMA_VERSION:
        remedy = "update groundtruth" if version > SCHEMA_VERSION else "measure the run again"
        raise InputError(
            f"written in version {version} of the result's form, this groundtruth reads versions "
            f"{OLDEST_VERSION} to {SCHEMA_VERSION}; {remedy}",
            file=name,
        )
    try:
        return _result(node, version)
    except (GroundtruthError, ValueError) as err:
        if isinstance(err, InputError) and err.file:
            raise
        raise InputError(str(err), file=name) from err


def _result(node: JsonNode, version: int) -> Result:
    return Result(
        run_name=node.text("run_name"),
        date=node.text("date"),
        time_zone=_time_zone(node),
        units=cast(UnitSystem, node.one_of("units", ("metric", "us"))),
        seeder=seeder_of(node),
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
                source=entry.member("source", UncertaintySource),
                std_m=entry.number("u_m"),
                share=entry.number("share"),
            )
            for entry in node.children("budget")
        ),
        targets=tuple(_target(entry) for entry in node.children("targets")),
        advice=tuple(map(_advice, node.children("advice"))) if version > 1 else (),
        findings=tuple(map(_finding, node.children("findings"))) if version > 1 else (),
        repairs=_notices(node, "repairs"),
        warnings=_notices(node, "warnings"),
        facts=_notices(node, "facts"),
        inputs=tuple(
            InputFile(name=entry.text("name"), sha256=entry.text("sha256"))
            for entry in node.children("inputs")
        ),
        tool_version=node.text("tool_version"),
        fixes=node.pairs("fixes"),
        cells=tuple(map(_cell, node.children("cells"))) if "cells" in node.data else (),
        origin=origin_of(node),
        soil=soil_of(node),
        recording=recording_of_json(node),
        distances=distances_of_json(node),
        with_fleet=with_fleet_of(node),
    )


def _time_zone(node: JsonNode) -> str:
    name = node.text("time_zone")
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        node.refuse("time_zone", 'a time zone such as "Europe/Oslo"')
    return name


def _advice(entry: JsonNode) -> Advice:
    return Advice(
        kind=entry.member("kind", AdviceKind),
        half_width_95=entry.maybe("half_width_95", lambda: entry.number("half_width_95")),
        passes=entry.maybe("passes", lambda: entry.whole("passes")),
        pass_length_m=entry.maybe("pass_length_m", lambda: entry.number("pass_length_m")),
    )


def _finding(entry: JsonNode) -> Finding:
    return Finding(
        kind=entry.member("kind", FindingKind),
        passes=entry.wholes("passes"),
        end=entry.maybe("end", lambda: _which_end(entry)),
        from_s=entry.maybe("from", lambda: entry.instant_s("from")),
        until_s=entry.maybe("until", lambda: entry.instant_s("until")),
        along_m=entry.maybe("along_m", lambda: entry.number("along_m")),
        fixes=entry.maybe("fixes", lambda: entry.whole("fixes")),
        evidence=entry.maybe("evidence", lambda: entry.member("evidence", ReceiverEvidence)),
        **(_of_sheet(entry) if "line" in entry.data else {}),
    )


def _of_sheet(entry: JsonNode) -> dict[str, Any]:
    """What a finding says of the turn sheet; files written before say nothing of it."""
    return {
        "line": entry.maybe("line", lambda: entry.whole("line")),
        "offset": entry.maybe("offset_s", lambda: entry.measured("offset", "_s")),
        "drift_s_per_h": entry.maybe("drift_s_per_h", lambda: entry.number("drift_s_per_h")),
        "written": entry.maybe("written", lambda: entry.number("written")),
        "expected": entry.maybe("expected", lambda: entry.two("expected")),
    }


def _cell(entry: JsonNode) -> CellVerdict:
    return CellVerdict(
        number=entry.whole("pass"),
        unit=entry.text("unit"),
        line=entry.maybe("line", lambda: entry.whole("line")),
        turns=entry.number("turns"),
        verdict=entry.member("verdict", Judgement),
        reason=entry.maybe("reason", lambda: entry.member("reason", CellReason)),
        expected=entry.maybe("expected", lambda: entry.two("expected")),
        suggestion=entry.maybe("suggestion", lambda: entry.number("suggestion")),
    )


def _which_end(entry: JsonNode) -> Literal["start", "end"]:
    return "start" if entry.one_of("end", ("start", "end")) == "start" else "end"


def _pass(entry: JsonNode) -> PassFigure:
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


def _row_unit(entry: JsonNode) -> UnitFigure:
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


def _target(entry: JsonNode) -> Target:
    return Target(
        crop=_crop(entry),
        seeds_per_turn=entry.measured("seeds_per_turn"),
        seeds_per_turn_95=entry.two("seeds_per_turn_95"),
        seeds_per_turn_in_use=entry.maybe(
            "seeds_per_turn_in_use", lambda: entry.number("seeds_per_turn_in_use")
        ),
    )


def _crop(entry: JsonNode) -> Crop:
    spacing_m = entry.maybe("spacing_m", lambda: entry.number("spacing_m"))
    return Crop(
        name=entry.text("crop"),
        plants_per_m=None if spacing_m is None else plants_per_metre(spacing_m),
        seeds_per_m=entry.number("rate_per_m") if spacing_m is None else None,
        germination=entry.share("germination"),
        field_emergence=entry.share("field_emergence"),
    )


def _near(place: tuple[float, float], start: tuple[float, float]) -> bool:
    """Whether a place (longitude, latitude) is one, and may lie on the same pass as another."""
    lon, lat = place
    around = abs((lon - start[0] + 180) % 360 - 180)
    return abs(lon) <= 180 and abs(lat) <= 90 and around < 10 and abs(lat - start[1]) < 10


def _line(entry: JsonNode) -> PassLine:
    axis = entry.pairs("axis")
    times, lon, lat = (entry.numbers(key) for key in ("time_s", "longitude_deg", "latitude_deg"))
    if len(axis) != 2 or not len(times) == len(lon) == len(lat):
        raise entry.error("needs two ends of the axis, and as many times as places")
    start = axis[0]
    if not all(_near(place, start) for place in (*axis, *zip(lon, lat, strict=True))):
        raise entry.error("needs places on the Earth, those of a pass within 10° of one another")
    return PassLine(
        number=entry.whole("number"),
        time_s=times,
        longitude_deg=lon,
        latitude_deg=lat,
        axis=(axis[0], axis[1]),
        axis_deg=entry.number("axis_deg"),
        speed_m_s=entry.number("speed_m_s"),
    )


def _notices(node: JsonNode, key: str) -> tuple[Notice, ...]:
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
