"""The tables of the record that say what lies where: the grower's map, beds, strips, anomalies.

All but the grower's map are worked out from the runs. Each column is defined here and nowhere else
(see `columns`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from ..beds import AnomalyKind
from ..io.geopackage import line
from .columns import RecordColumn, RecordTable, Row
from .noted_tables import BENCH_COUNTS, SEEDER_CHANGES, SETTINGS, STAND_COUNTS
from .run_tables import PASSES, ROW_UNITS, RUNS, SLIP_ALONG, TURN_COUNTS

if TYPE_CHECKING:
    from ..beds import Anomaly, Strip
    from ..core.beds import BlockBed, MapBed


@dataclass(frozen=True, slots=True, kw_only=True)
class StripSource:
    """A strip, the row of the pass that it was sown on, and its day."""

    strip: Strip
    of_pass: Row
    day: str


MAP_BEDS: RecordTable[MapBed] = RecordTable(
    "map_beds",
    (
        RecordColumn("geom", "GEOMETRY", lambda b: line(b.ends)),
        RecordColumn("name", "TEXT", lambda b: b.name),
        RecordColumn("block", "TEXT", lambda b: b.block),
        RecordColumn("width", "DOUBLE", lambda b: b.width_m, unit="_m", bounds="bed_width"),
    ),
)

BEDS: RecordTable[BlockBed] = RecordTable(
    "beds",
    (
        RecordColumn("geom", "GEOMETRY", lambda b: b.outline),
        RecordColumn("name", "TEXT", lambda b: b.name),
        RecordColumn("block", "TEXT", lambda b: b.block),
        RecordColumn("place", "INTEGER", lambda b: b.place),
        RecordColumn("mapped", "BOOLEAN", lambda b: b.mapped),
        RecordColumn("sowings", "INTEGER", lambda b: b.sowings),
    ),
)

STRIPS: RecordTable[StripSource] = RecordTable(
    "strips",
    (
        RecordColumn("geom", "GEOMETRY", lambda s: s.strip.outline),
        RecordColumn("bed", "TEXT", lambda s: s.strip.bed, json="bed", heading="bed"),
        RecordColumn("block", "TEXT", lambda s: s.strip.block, json="block", heading="block"),
        RecordColumn("day", "DATE", lambda s: s.day, json="day", heading="day", shown="day"),
        RecordColumn("crop", "TEXT", lambda s: s.strip.crop, json="crop", heading="crop"),
        RecordColumn(
            "setting", "TEXT", lambda s: s.strip.setting, json="setting", heading="setting"
        ),
        RecordColumn(
            "length", "DOUBLE", lambda s: s.strip.length_m, unit="_m",
            json="length", heading="length", shown="length",
        ),
        RecordColumn("width", "DOUBLE", lambda s: s.strip.width_m, unit="_m"),
        RecordColumn("area", "DOUBLE", lambda s: s.strip.area_m2, unit="_m2", json="area"),
        RecordColumn("rows", "INTEGER", lambda s: s.strip.rows),
        RecordColumn(
            "row_length", "DOUBLE", lambda s: s.strip.row_length_m, unit="_m", json="row_length"
        ),
        RecordColumn(
            "ground_per_turn", "MEASURED", lambda s: s.of_pass["ground_per_turn"], unit="_m",
            json="ground_per_turn", heading="ground per turn", shown="ground",
        ),
        RecordColumn(
            "slip", "MEASURED", lambda s: s.of_pass["slip"],
            json="slip", heading="slip", shown="percent", if_any=True,
        ),
        RecordColumn(
            "sure", "DOUBLE", lambda s: s.strip.sure,
            json="sure", heading="sure of bed", shown="sure",
        ),
    ),
    refers_to=("pass_id",),
)  # fmt: skip

ANOMALIES: RecordTable[Anomaly] = RecordTable(
    "anomalies",
    (
        RecordColumn("kind", "TEXT", lambda a: a.kind, one_of=tuple(AnomalyKind), json="kind"),
        RecordColumn("day", "DATE", lambda a: a.day, json="day"),
        RecordColumn("block", "TEXT", lambda a: a.block, json="block"),
        RecordColumn("bed", "TEXT", lambda a: a.bed, json="bed"),
        RecordColumn("passes", "NUMBERS", lambda a: a.passes),
        RecordColumn("share", "DOUBLE", lambda a: a.share, json="share"),
        RecordColumn("earlier_number", "INTEGER", lambda a: a.earlier and a.earlier.number),
        RecordColumn("sure", "DOUBLE", lambda a: a.sure, json="sure"),
    ),
    refers_to=("run_id", "earlier_run_id"),
)

SOWING_COLUMNS: tuple[RecordColumn[Any], ...] = (
    *STRIPS.columns,
    *(c for c in PASSES.columns if c.name not in {own.name for own in STRIPS.columns}),
)
"""Those of a strip with those of its pass; where both have one it is the strip's."""

TABLES: tuple[RecordTable[Any], ...] = (
    RUNS,
    PASSES,
    TURN_COUNTS,
    ROW_UNITS,
    SLIP_ALONG,
    MAP_BEDS,
    BEDS,
    STRIPS,
    ANOMALIES,
    SEEDER_CHANGES,
    BENCH_COUNTS,
    SETTINGS,
    STAND_COUNTS,
)
