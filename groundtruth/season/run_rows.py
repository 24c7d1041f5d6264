"""From a result to the rows of the record, and from rows to the passes that beds are laid from."""

from __future__ import annotations

import sqlite3
import zlib
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from hashlib import sha256
from itertools import pairwise
from typing import Any

import numpy as np

from ..beds import BedAssignment, MapBed, SownPass
from ..core.measured import Measured
from ..core.plane import Axis
from ..core.result import PassFigure, PassLine, Result
from ..io.geopackage import Geometry, from_blob, to_blob
from ..io.json_values import utc_text
from ..io.result_json import result_to_json

PART_S = 25.0
"""A pass is kept as means over parts of about this long: they carry its place across the bed."""
MOST_PARTS = 6


def run_key(result: Result) -> str:
    """What makes a run the same run: the files it was measured from, by their SHA-256."""
    text = "\n".join(sorted(f.sha256 for f in result.inputs)) or result_to_json(result)
    return sha256(text.encode()).hexdigest()


def insert(db: sqlite3.Connection, table: str, row: Mapping[str, Any]) -> int:
    """Insert a row; returns its id. Table and column names are ours."""
    columns = ", ".join(row)
    marks = ", ".join("?" * len(row))
    done = db.execute(f"INSERT INTO {table} ({columns}) VALUES ({marks})", tuple(row.values()))
    return int(done.lastrowid or 0)


def pair(name: str, figure: Measured | None, unit: str = "") -> dict[str, float | None]:
    """``<name><unit>`` and ``<name>_u<unit>``, as in result.json."""
    return {
        f"{name}{unit}": None if figure is None else figure.value,
        f"{name}_u{unit}": None if figure is None else figure.std,
    }


def insert_run(
    db: sqlite3.Connection, result: Result, *, seeder: str, soil: str, note: str, added_at: str
) -> int:
    """All rows of a run that come from its result alone; returns the run's id."""
    machine, low_high = result.seeder, result.ground_per_turn_95
    run_id = insert(
        db,
        "runs",
        {
            "key": run_key(result),
            "name": result.run_name,
            "day": result.date,
            "time_zone": result.time_zone,
            "units": result.units,
            "seeder": seeder,
            "soil": soil,
            "note": note,
            **pair("ground_per_turn", result.ground_per_turn, "_m"),
            "ground_per_turn_low_m": low_high[0],
            "ground_per_turn_high_m": low_high[1],
            **pair("slip", result.slip),
            **pair("spread", result.spread_between_passes, "_m"),
            "turns_of": machine.turns_of,
            **pair("wheel_circumference", machine.wheel_circumference, "_m"),
            "gear_turns_per_wheel_turn": machine.gear_turns_per_wheel_turn,
            "row_units": machine.row_units,
            "row_spacing_m": machine.row_spacing_m,
            "bed_width_m": machine.sown_width_m,
            "bed_spacing_m": machine.bed_spacing_m,
            "antenna_ahead_m": machine.antenna_ahead_m,
            "antenna_right_m": machine.antenna_right_m,
            "tool_version": result.tool_version,
            "added_at": added_at,
        },
    )
    whole = zlib.compress(result_to_json(result).encode("ascii"), 6)
    insert(db, "results", {"run_id": run_id, "json_zlib": whole})
    for file in result.inputs:
        insert(db, "inputs", {"run_id": run_id, "name": file.name, "sha256": file.sha256})
    figures: dict[int, list[PassFigure]] = {}
    for figure in result.passes:
        figures.setdefault(figure.number, []).append(figure)
    for line in result.lines:
        _insert_pass(db, run_id, line, figures.get(line.number, []))
    for unit in result.row_units:
        insert(
            db,
            "row_units",
            {
                "run_id": run_id,
                "unit": unit.unit,
                "passes": unit.passes,
                **pair("ground_per_turn", unit.ground_per_turn, "_m"),
                **pair("turns_against_others", unit.turns_against_others),
                "lags": int(unit.lags),
            },
        )
    return run_id


def _insert_pass(
    db: sqlite3.Connection, run_id: int, line: PassLine, figures: Sequence[PassFigure]
) -> None:
    if not line.time_s:
        return
    start_s = figures[0].start_s if figures else line.time_s[0]
    end_s = figures[0].end_s if figures else line.time_s[-1]
    shape, times, scatter_m = _way(line, start_s, end_s)
    middle = _middle(figures)
    pass_id = insert(
        db,
        "passes",
        {
            "geom": to_blob(shape),
            "run_id": run_id,
            "number": line.number,
            "start_at": utc_text(start_s),
            "end_at": utc_text(end_s),
            "crop": _one(f.crop for f in figures),
            "setting": _one(f.setting for f in figures),
            "bed_written": _one(f.bed for f in figures),
            "times": " ".join(utc_text(t) for t in times),
            **pair("distance", figures[0].distance if figures else None, "_m"),
            **pair("ground_per_turn", middle.ground_per_turn if middle else None, "_m"),
            **pair("slip", middle.slip if middle else None),
            "speed_m_s": line.speed_m_s,
            "scatter_m": scatter_m,
        },
    )
    for figure in figures:
        insert(
            db,
            "turn_counts",
            {
                "pass_id": pass_id,
                "unit": figure.unit,
                **pair("turns", figure.turns),
                **pair("ground_per_turn", figure.ground_per_turn, "_m"),
                **pair("slip", figure.slip),
                "crop": figure.crop,
                "setting": figure.setting,
            },
        )


def _middle(figures: Sequence[PassFigure]) -> PassFigure | None:
    """The middle row unit of a pass, so that one that drags does not stand for the soil."""
    ordered = sorted(figures, key=lambda f: f.ground_per_turn.value)
    return ordered[(len(ordered) - 1) // 2] if ordered else None


def _one(texts: Iterable[str]) -> str:
    """The different texts of a pass's units, joined where there are several."""
    return ", ".join(dict.fromkeys(t for t in texts if t))


def _way(line: PassLine, start_s: float, end_s: float) -> tuple[Geometry, list[float], float]:
    """Start, means over parts, end, with their instants; scatter of the fixes about the axis."""
    time = np.array(line.time_s)
    lon, lat = np.array(line.longitude_deg), np.array(line.latitude_deg)
    inside = (time >= start_s) & (time <= end_s)
    if inside.sum() < 2:
        inside[:] = True
    time, lon, lat = time[inside], lon[inside], lat[inside]
    parts = int(np.clip(round((time[-1] - time[0]) / PART_S), 1, MOST_PARTS))
    edges = np.linspace(time[0], time[-1] + 1e-6, parts + 1)
    points, times = [line.axis[0]], [start_s]
    for low, high in pairwise(edges.tolist()):
        part = (time >= low) & (time < high)
        if part.any():
            points.append((float(lon[part].mean()), float(lat[part].mean())))
            times.append(float(time[part].mean()))
    points.append(line.axis[1])
    times.append(max(end_s, times[-1] + 1e-3))
    metre = 111_320.0  # for a scatter only
    east = (lon - lon.mean()) * metre * np.cos(np.radians(lat.mean()))
    north = (lat - lat.mean()) * metre
    across = Axis.towards(line.axis_deg).across(east, north)
    clock = (time - time.mean()) / max(float(np.ptp(time)), 1.0)
    rest = across - np.polyval(np.polyfit(clock, across, 1), clock)
    return Geometry("LINESTRING", tuple(points)), times, float(np.std(rest))


def seconds(text: str) -> float:
    """Seconds since 1970 UTC of an instant as the record writes it. [s]"""
    return datetime.fromisoformat(text.replace("Z", "+00:00")).timestamp()


def sown_passes(db: sqlite3.Connection) -> dict[str, list[SownPass]]:
    """The passes of every run by the run's key, as `beds.lay_out` takes them."""
    found: dict[str, list[SownPass]] = {}
    rows = db.execute(
        "SELECT r.key, p.number, p.start_at, p.end_at, p.geom, p.bed_written, p.crop, p.setting,"
        " p.id, p.distance_m, r.bed_width_m, r.row_units, r.antenna_ahead_m,"
        " r.antenna_right_m, r.bed_spacing_m, p.scatter_m, p.times,"
        " r.ground_per_turn_u_m / r.ground_per_turn_m, r.day"
        " FROM passes p JOIN runs r ON r.id = p.run_id ORDER BY p.start_at, p.id"
    )
    counted = _counted_lengths(db)
    for key, number, start, end, geom, bed, crop, setting, pass_id, dist, *machine in rows:
        width, units, ahead, right, spacing, scatter, times, scale_u, day = machine
        shape = from_blob(geom)
        inner = list(zip(map(seconds, times.split()), shape.points, strict=True))[1:-1]
        found.setdefault(key, []).append(
            SownPass(
                run=key,
                number=number,
                start_s=seconds(start),
                end_s=seconds(end),
                axis=(shape.points[0], shape.points[-1]),
                positions=tuple((t, p[0], p[1]) for t, p in inner),
                bed_name=bed,
                crop=crop,
                setting=setting,
                length=None if dist is None else counted.get(pass_id),
                length_scale_u=scale_u,
                width_m=width,
                rows=units or 1,
                ahead_m=ahead,
                right_m=right,
                bed_spacing_m=spacing,
                scatter_m=scatter,
                day=day,
            )
        )
    return found


def _counted_lengths(db: sqlite3.Connection) -> dict[int, Measured]:
    """Ground sown on each pass from its turns and what the whole run says a turn covers [m].

    Turns tell lengths apart far better than one pass's positions do: what is left is the counting
    and the spread between passes. Each unit counts with its own figure, so that one that drags
    shortens nothing.
    """
    found: dict[int, list[Measured]] = {}
    for pass_id, turns, turns_u, ground, spread in db.execute(
        "SELECT t.pass_id, t.turns, t.turns_u, u.ground_per_turn_m, r.spread_m"
        " FROM turn_counts t JOIN passes p ON p.id = t.pass_id JOIN runs r ON r.id = p.run_id"
        " JOIN row_units u ON u.run_id = r.id AND u.unit = t.unit ORDER BY t.id"
    ):
        length = Measured(turns, turns_u).times(Measured(ground, spread))
        found.setdefault(pass_id, []).append(length)
    return {
        pass_id: Measured(
            sum(one.value for one in lengths) / len(lengths), max(one.std for one in lengths)
        )
        for pass_id, lengths in found.items()
    }


def map_beds(db: sqlite3.Connection) -> list[MapBed]:
    """The grower's own map."""
    return [
        MapBed(name=name, block=block, ends=(shape.points[0], shape.points[-1]), width_m=width)
        for name, block, width, shape in (
            (name, block, width, from_blob(geom))
            for name, block, width, geom in db.execute(
                "SELECT name, block, width_m, geom FROM map_beds ORDER BY id"
            )
        )
    ]


def kept_fits(db: sqlite3.Connection) -> dict[str, list[BedAssignment]]:
    """What earlier layings out found, by run."""
    found: dict[str, list[BedAssignment]] = {}
    for fit_id, key, block, *figures in db.execute(
        "SELECT f.id, r.key, f.block, f.offset_m, f.offset_u_m, f.spacing_m, f.spacing_u_m,"
        " f.settled"
        " FROM fits f JOIN runs r ON r.id = f.run_id ORDER BY f.id"
    ).fetchall():
        passes = db.execute(
            "SELECT number, place, sure FROM fitted_passes WHERE fit_id = ? ORDER BY id", (fit_id,)
        ).fetchall()
        found.setdefault(key, []).append(
            BedAssignment(
                block=block,
                passes=tuple(p[0] for p in passes),
                beds=tuple(p[1] for p in passes),
                sure=tuple(p[2] for p in passes),
                offset=Measured(figures[0], figures[1]),
                spacing=Measured(figures[2], figures[3]),
                settled=bool(figures[4]),
            )
        )
    return found
