"""The tables of the record that come from measured runs: runs, passes, turn counts, row units.

Each column is defined here and nowhere else (see `columns`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from operator import attrgetter
from typing import TYPE_CHECKING, Any

from ..io.geopackage import line
from ..io.json_values import utc_text
from .columns import RecordColumn, RecordTable

if TYPE_CHECKING:
    from ..core.result import PassFigure, Result, SlipPart, UnitFigure
    from .pass_summary import PassSummary


@dataclass(frozen=True, slots=True, kw_only=True)
class RunSource:
    """A measured run with what was noted of it."""

    key: str
    result: Result
    seeder: str = ""
    soil: str = ""
    note: str = ""
    added_at: str = ""


def _figure(path: str) -> Callable[[RunSource], Any]:
    return attrgetter(f"result.{path}")


def _machine(path: str) -> Callable[[RunSource], Any]:
    return attrgetter(f"result.seeder.{path}")


GROUND = "ground_per_turn"

RUNS: RecordTable[RunSource] = RecordTable(
    "runs",
    (
        RecordColumn("key", "TEXT", lambda r: r.key),
        RecordColumn("day", "DATE", _figure("date"), json="day", heading="day", shown="day"),
        RecordColumn("name", "TEXT", _figure("run_name"), json="run", heading="run"),
        RecordColumn("time_zone", "TEXT", _figure("time_zone")),
        RecordColumn("units", "TEXT", _figure("units")),
        RecordColumn(
            GROUND, "MEASURED", _figure(GROUND), unit="_m", bounds=GROUND,
            json=GROUND, heading="ground per turn", shown="ground",
        ),
        RecordColumn(
            f"{GROUND}_low", "DOUBLE", lambda r: r.result.ground_per_turn_95[0], unit="_m"
        ),
        RecordColumn(
            f"{GROUND}_high", "DOUBLE", lambda r: r.result.ground_per_turn_95[1], unit="_m"
        ),
        RecordColumn(
            "slip", "MEASURED", _figure("slip"),
            json="slip", heading="slip", shown="percent", if_any=True,
        ),
        RecordColumn("soil", "TEXT", lambda r: r.soil, json="soil", heading="soil", if_any=True),
        RecordColumn(
            "seeder", "TEXT", lambda r: r.seeder, json="seeder", heading="seeder", if_any=True
        ),
        RecordColumn("seeder_id", "TEXT", _machine("id"), since=7),
        RecordColumn(
            "farm", "TEXT", _figure("origin.farm"),
            json="farm", heading="farm", if_any=True, since=7,
        ),
        RecordColumn("farm_id", "TEXT", _figure("origin.farm_id"), since=7),
        RecordColumn(
            "field", "TEXT", _figure("origin.field"),
            json="field", heading="field", if_any=True, since=7,
        ),
        RecordColumn("note", "TEXT", lambda r: r.note),
        RecordColumn("spread", "MEASURED", _figure("spread_between_passes"), unit="_m"),
        RecordColumn("turns_of", "TEXT", _machine("turns_of")),
        RecordColumn(
            "wheel_circumference", "MEASURED", _machine("wheel_circumference"), unit="_m",
            bounds="wheel_circumference",
        ),
        RecordColumn(
            "gear_turns_per_wheel_turn", "DOUBLE", _machine("gear_turns_per_wheel_turn"),
            bounds="gear_turns_per_wheel_turn",
        ),
        RecordColumn("row_units", "INTEGER", _machine("row_units"), bounds="row_units"),
        RecordColumn(
            "row_spacing", "DOUBLE", _machine("row_spacing_m"), unit="_m", bounds="row_spacing"
        ),
        RecordColumn("bed_width", "DOUBLE", _machine("sown_width_m"), unit="_m"),
        RecordColumn(
            "bed_spacing", "DOUBLE", _machine("bed_spacing_m"), unit="_m", bounds="bed_spacing"
        ),
        RecordColumn(
            "antenna_ahead", "DOUBLE", _machine("antenna_ahead_m"), unit="_m", bounds="antenna"
        ),
        RecordColumn(
            "antenna_right", "DOUBLE", _machine("antenna_right_m"), unit="_m", bounds="antenna"
        ),
        RecordColumn("tool_version", "TEXT", _figure("tool_version")),
        RecordColumn("added_at", "DATETIME", lambda r: r.added_at),
    ),
)  # fmt: skip

PASSES: RecordTable[PassSummary] = RecordTable(
    "passes",
    (
        RecordColumn("geom", "GEOMETRY", lambda p: p.way),
        RecordColumn("number", "INTEGER", lambda p: p.line.number, json="pass"),
        RecordColumn("start_at", "DATETIME", lambda p: p.start_s),
        RecordColumn("end_at", "DATETIME", lambda p: p.end_s),
        RecordColumn("crop", "TEXT", lambda p: p.joined(f.crop for f in p.figures)),
        RecordColumn("setting", "TEXT", lambda p: p.joined(f.setting for f in p.figures)),
        RecordColumn("bed_written", "TEXT", lambda p: p.joined(f.bed for f in p.figures)),
        RecordColumn("times", "TEXT", lambda p: " ".join(map(utc_text, p.times_s))),
        RecordColumn(
            "distance", "MEASURED", lambda p: p.figures[0].distance if p.figures else None,
            unit="_m",
        ),
        RecordColumn(
            GROUND, "MEASURED", lambda p: p.median and p.median.ground_per_turn, unit="_m"
        ),
        RecordColumn("slip", "MEASURED", lambda p: p.median and p.median.slip),
        RecordColumn("speed", "DOUBLE", lambda p: p.line.speed_m_s, unit="_m_s"),
        RecordColumn("scatter", "DOUBLE", lambda p: p.scatter_m, unit="_m"),
    ),
    refers_to=("run_id",),
)  # fmt: skip

TURN_COUNTS: RecordTable[PassFigure] = RecordTable(
    "turn_counts",
    (
        RecordColumn("unit", "TEXT", lambda f: f.unit),
        RecordColumn("turns", "MEASURED", lambda f: f.turns, bounds="turns"),
        RecordColumn(GROUND, "MEASURED", lambda f: f.ground_per_turn, unit="_m"),
        RecordColumn("slip", "MEASURED", lambda f: f.slip),
        RecordColumn("crop", "TEXT", lambda f: f.crop),
        RecordColumn("setting", "TEXT", lambda f: f.setting),
    ),
    refers_to=("pass_id",),
)

ROW_UNITS: RecordTable[UnitFigure] = RecordTable(
    "row_units",
    (
        RecordColumn("unit", "TEXT", lambda u: u.unit),
        RecordColumn("passes", "INTEGER", lambda u: u.passes),
        RecordColumn(GROUND, "MEASURED", lambda u: u.ground_per_turn, unit="_m"),
        RecordColumn("turns_against_others", "MEASURED", lambda u: u.turns_against_others),
        RecordColumn("lags", "BOOLEAN", lambda u: u.lags),
    ),
    refers_to=("run_id",),
)

SLIP_ALONG: RecordTable[SlipPart] = RecordTable(
    "slip_along",
    (
        RecordColumn("geom", "GEOMETRY", lambda s: line(s.line)),
        RecordColumn("unit", "TEXT", lambda s: s.unit),
        RecordColumn("from", "DOUBLE", lambda s: s.from_m, unit="_m"),
        RecordColumn("to", "DOUBLE", lambda s: s.to_m, unit="_m"),
        RecordColumn(GROUND, "MEASURED", lambda s: s.ground_per_turn, unit="_m"),
        RecordColumn("slip", "MEASURED", lambda s: s.slip),
    ),
    refers_to=("pass_id",),
)
