"""The tables of the record that hold what was noted by hand, changes on the seeder and counts, and
the seeds per turn by setting that are worked out from counts.

Each column is defined here and nowhere else (see `columns`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from .columns import RecordColumn, RecordTable

if TYPE_CHECKING:
    from ..core.counts import BenchCount, StandCount
    from ..seeding import SettingFigure


@dataclass(frozen=True, slots=True, kw_only=True)
class SeederChange:
    """A recorded change on a seeder; ``number`` is that of its row, None before it has one."""

    day: str
    kind: str
    seeder: str = ""
    unit: str = ""
    note: str = ""
    number: int | None = None


@dataclass(frozen=True, slots=True)
class BenchRow:
    """A catch of the sheet with this SHA-256."""

    count: BenchCount
    sha256: str


@dataclass(frozen=True, slots=True)
class StandRow:
    """A count of the sheet with this SHA-256."""

    count: StandCount
    sha256: str


@dataclass(frozen=True, slots=True)
class SettingRow:
    """Seeds per turn at a setting; ``left_out`` catches there cannot be true and are not in it."""

    crop: str
    seed_lot: str
    figure: SettingFigure
    left_out: int


SEEDER_CHANGES: RecordTable[SeederChange] = RecordTable(
    "seeder_changes",
    (
        RecordColumn("day", "DATE", lambda c: c.day),
        RecordColumn("kind", "TEXT", lambda c: c.kind),
        RecordColumn("seeder", "TEXT", lambda c: c.seeder),
        RecordColumn("unit", "TEXT", lambda c: c.unit),
        RecordColumn("note", "TEXT", lambda c: c.note),
    ),
)

BENCH_COUNTS: RecordTable[BenchRow] = RecordTable(
    "bench_counts",
    (
        RecordColumn("sha256", "TEXT", lambda r: r.sha256),
        RecordColumn("line", "INTEGER", lambda r: r.count.line),
        RecordColumn("crop", "TEXT", lambda r: r.count.crop),
        RecordColumn("seed_lot", "TEXT", lambda r: r.count.seed_lot),
        RecordColumn("setting", "TEXT", lambda r: r.count.setting),
        RecordColumn("turns", "DOUBLE", lambda r: float(r.count.turns), bounds="bench_turns"),
        RecordColumn("seeds", "MEASURED", lambda r: r.count.seeds, bounds="bench_seeds"),
        RecordColumn("shared_relative_u", "DOUBLE", lambda r: r.count.shared_relative),
        RecordColumn(
            "turns_per_minute", "DOUBLE", lambda r: r.count.turns_per_minute,
            bounds="turns_per_minute",
        ),
    ),
)  # fmt: skip

SETTINGS: RecordTable[SettingRow] = RecordTable(
    "settings",
    (
        RecordColumn("crop", "TEXT", lambda s: s.crop),
        RecordColumn("seed_lot", "TEXT", lambda s: s.seed_lot),
        RecordColumn("setting", "TEXT", lambda s: s.figure.setting),
        RecordColumn("catches", "INTEGER", lambda s: s.figure.catches),
        RecordColumn("left_out", "INTEGER", lambda s: s.left_out, since=8),
        RecordColumn("turns", "DOUBLE", lambda s: s.figure.turns),
        RecordColumn("seeds_per_turn", "MEASURED", lambda s: s.figure.seeds_per_turn),
        RecordColumn("seeds_per_turn_low", "DOUBLE", lambda s: s.figure.seeds_per_turn_95[0]),
        RecordColumn("seeds_per_turn_high", "DOUBLE", lambda s: s.figure.seeds_per_turn_95[1]),
    ),
)

STAND_COUNTS: RecordTable[StandRow] = RecordTable(
    "stand_counts",
    (
        RecordColumn("sha256", "TEXT", lambda r: r.sha256),
        RecordColumn("line", "INTEGER", lambda r: r.count.line),
        RecordColumn("day", "TEXT", lambda r: str(r.count.day or "")),
        RecordColumn("crop", "TEXT", lambda r: r.count.crop),
        RecordColumn("seed_lot", "TEXT", lambda r: r.count.seed_lot),
        RecordColumn("bed", "TEXT", lambda r: r.count.bed),
        RecordColumn("line_of_bed", "TEXT", lambda r: r.count.line_of_bed),
        RecordColumn(
            "length", "DOUBLE", lambda r: r.count.length_m, unit="_m", bounds="counted_length"
        ),
        RecordColumn("plants", "INTEGER", lambda r: r.count.plants, bounds="plants"),
        RecordColumn("seeds_per", "DOUBLE", lambda r: r.count.seeds_per_m, unit="_m",
                     bounds="stand"),
    ),
)  # fmt: skip
