"""Columns of a fleet's data set: one row a run, one row a pass, from documents of results.

The document is that of docs/result-json.md, as `io.result_json.result_to_dict` gives it.
"""

from __future__ import annotations

import hashlib
import io
from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime
from statistics import fmean
from typing import Any, Literal

Document = Mapping[str, Any]
Row = dict[str, Any]
Kind = Literal["text", "number", "count", "day", "instant", "numbers"]

MEASURED: Literal["measured"] = "measured"
"""The status of a run that has a figure."""

RUN_COLUMNS: tuple[tuple[str, Kind], ...] = (
    ("run_key", "text"),
    ("source", "text"),
    ("status", "text"),
    ("message", "text"),
    ("version", "text"),
    ("run_name", "text"),
    ("date", "day"),
    ("farm", "text"),
    ("farm_id", "text"),
    ("field", "text"),
    ("seeder", "text"),
    ("seeder_id", "text"),
    ("phone", "text"),
    ("receiver", "text"),
    ("tyre", "text"),
    ("tyre_pressure_pa", "number"),
    ("ballast_kg", "number"),
    ("soil_moisture", "text"),
    ("soil_texture", "text"),
    ("ground_per_turn_m", "number"),
    ("ground_per_turn_std_m", "number"),
    ("ground_per_turn_low_m", "number"),
    ("ground_per_turn_high_m", "number"),
    ("in_use_m", "number"),
    ("change", "number"),
    ("change_std", "number"),
    ("zero_slip_travel_m", "number"),
    ("slip", "number"),
    ("slip_std", "number"),
    ("spread_m", "number"),
    ("spread_std_m", "number"),
    ("passes", "count"),
    ("verdict", "text"),
    ("speed_m_s", "number"),
    ("fixes", "count"),
    ("fixes_set_aside", "count"),
    ("latitude_deg", "number"),
    ("longitude_deg", "number"),
    ("seconds", "number"),
)
"""Of a run. Names of farm and the like are "" where they are not known; a figure is null."""

PASS_COLUMNS: tuple[tuple[str, Kind], ...] = (
    ("run_key", "text"),
    ("number", "count"),
    ("start_at", "instant"),
    ("unit", "text"),
    ("distance_m", "number"),
    ("distance_std_m", "number"),
    ("turns", "number"),
    ("ground_per_turn_m", "number"),
    ("ground_per_turn_std_m", "number"),
    ("slip", "number"),
    ("slip_std", "number"),
    ("speed_m_s", "number"),
    ("bed", "text"),
    ("crop", "text"),
    ("setting", "text"),
)
"""Of a pass, by its median row unit."""


def run_schema() -> Any:
    """The columns of runs as a schema of pyarrow."""
    return _schema(RUN_COLUMNS)


def pass_schema() -> Any:
    """The columns of passes as a schema of pyarrow; instants to the microsecond, in UTC."""
    return _schema(PASS_COLUMNS)


def parquet_of(table: Any) -> bytes:
    """A `pyarrow.Table` as a Parquet file."""
    import pyarrow.parquet as pq  # type: ignore[import-untyped, import-not-found, unused-ignore]

    out = io.BytesIO()
    pq.write_table(table, out, compression="zstd")
    return out.getvalue()


def _schema(columns: Iterable[tuple[str, Kind]]) -> Any:
    import pyarrow as pa  # type: ignore[import-untyped, import-not-found, unused-ignore]

    types = {
        "text": pa.string(),
        "number": pa.float64(),
        "count": pa.int64(),
        "day": pa.date32(),
        "instant": pa.timestamp("us", tz="UTC"),
        "numbers": pa.list_(pa.float64()),
    }
    return pa.schema([(name, types[kind]) for name, kind in columns])


def key_of(document: Document) -> str:
    """A key of the run: SHA-256 over its inputs' hashes and the version that measured it."""
    parts = sorted(one["sha256"] for one in document["inputs"])
    return hashlib.sha256("\n".join([document["tool_version"], *parts]).encode()).hexdigest()


def run_row(document: Document, *, run_key: str | None = None, source: str = "") -> Row:
    """The run as a row with every column of `RUN_COLUMNS`; its key is `key_of` unless given.

    ``seconds``, the time that measuring took, is left null: who measured knows it.
    """
    seeder, soil = document["seeder"], document.get("soil") or {}
    circumference = seeder["wheel_circumference_m"]
    recording = document.get("recording") or {}
    low, high = document["ground_per_turn_95_m"]
    place = _place(document)
    return _whole_row(
        RUN_COLUMNS,
        run_key=key_of(document) if run_key is None else run_key,
        source=source,
        status=MEASURED,
        message="",
        version=document["tool_version"],
        run_name=document["run_name"],
        date=date.fromisoformat(document["date"]),
        farm=document.get("farm", ""),
        farm_id=document.get("farm_id", ""),
        field=document.get("field", ""),
        seeder=seeder.get("name", ""),
        seeder_id=seeder.get("id", ""),
        phone=document.get("phone", ""),
        receiver=recording.get("receiver", ""),
        tyre=seeder.get("tyre", ""),
        tyre_pressure_pa=seeder.get("tyre_pressure_pa"),
        ballast_kg=seeder.get("ballast_kg"),
        soil_moisture=soil.get("moisture") or "",
        soil_texture=soil.get("texture") or "",
        ground_per_turn_m=document["ground_per_turn_m"],
        ground_per_turn_std_m=document["ground_per_turn_u_m"],
        ground_per_turn_low_m=low,
        ground_per_turn_high_m=high,
        in_use_m=document["ground_per_turn_in_use_m"],
        change=document["change"],
        change_std=document["change_u"],
        zero_slip_travel_m=circumference and circumference / seeder["gear_turns_per_wheel_turn"],
        slip=document["slip"],
        slip_std=document["slip_u"],
        spread_m=document["spread_between_passes_m"],
        spread_std_m=document["spread_between_passes_u_m"],
        passes=len({entry["number"] for entry in document["passes"]}),
        verdict=document["verdict"],
        speed_m_s=_speed(document),
        fixes=recording.get("fixes", len(document["fixes"])),
        fixes_set_aside=recording.get("fixes_set_aside"),
        latitude_deg=place and place[1],
        longitude_deg=place and place[0],
        seconds=None,
    )


def failed_row(*, run_key: str, source: str, status: str, message: str, version: str) -> Row:
    """A run without a figure: a row with every column, the names "" and the figures null."""
    given = {"run_key": run_key, "source": source, "status": status, "message": message}
    return empty_row() | given | {"version": version}


def empty_row() -> Row:
    """A row of runs that says nothing: texts are "", all else null."""
    return {name: "" if kind == "text" else None for name, kind in RUN_COLUMNS}


def pass_rows(document: Document, *, run_key: str | None = None) -> list[Row]:
    """Each pass that has a figure as a row with every column of `PASS_COLUMNS`, in their order."""
    key = key_of(document) if run_key is None else run_key
    speeds = {line["number"]: line["speed_m_s"] for line in document["lines"]}
    by_number: dict[int, list[Document]] = {}
    for entry in document["passes"]:
        by_number.setdefault(entry["number"], []).append(entry)
    return [_pass_row(_median(by_number[n]), speeds.get(n), key) for n in sorted(by_number)]


def _pass_row(entry: Document, speed_m_s: float | None, key: str) -> Row:
    return _whole_row(
        PASS_COLUMNS,
        run_key=key,
        number=entry["number"],
        start_at=datetime.fromisoformat(entry["start"]).astimezone(UTC),
        unit=entry["unit"],
        distance_m=entry["distance_m"],
        distance_std_m=entry["distance_u_m"],
        turns=entry["turns"],
        ground_per_turn_m=entry["ground_per_turn_m"],
        ground_per_turn_std_m=entry["ground_per_turn_u_m"],
        slip=entry["slip"],
        slip_std=entry["slip_u"],
        speed_m_s=speed_m_s,
        bed=entry["bed"],
        crop=entry["crop"],
        setting=entry["setting"],
    )


def _whole_row(columns: Iterable[tuple[str, Kind]], **values: Any) -> Row:
    return {name: values[name] for name, _ in columns}


def _median(entries: list[Document]) -> Document:
    """The median row unit by ground per turn, the lower of two (see `core.result.median_unit`)."""
    ordered = sorted(entries, key=lambda entry: float(entry["ground_per_turn_m"]))
    return ordered[(len(ordered) - 1) // 2]


def _speed(document: Document) -> float | None:
    """Mean speed of the passes. [m/s]"""
    speeds = [line["speed_m_s"] for line in document["lines"]]
    return fmean(speeds) if speeds else None


def _place(document: Document) -> tuple[float, float] | None:
    """The middle of the passes as (longitude, latitude), degrees; None without a pass."""
    ends = [end for line in document["lines"] for end in line["axis"]]
    if not ends:
        return None
    east, west = max(end[0] for end in ends), min(end[0] for end in ends)
    turned = [end[0] % 360 if east - west > 180 else end[0] for end in ends]
    longitude = fmean(turned)
    return longitude - 360 * (longitude > 180), fmean(end[1] for end in ends)
