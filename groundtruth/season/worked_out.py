"""Tables that are worked out from what was handed over: beds and strips, seeds per turn."""

from __future__ import annotations

import sqlite3
from collections.abc import Set as AbstractSet

from ..seeding import (
    BenchCount,
    dispersion_of,
    doubtful_catches,
    order_if_known,
    setting_figure,
)
from .bed_layout import lay_beds_out
from .columns import select
from .noted_tables import BENCH_COUNTS, SETTINGS, SettingRow
from .run_rows import fill_new_columns

_LAID_OUT = frozenset(("runs", "passes", "turn_counts", "row_units", "map_beds"))


def work_out_again(db: sqlite3.Connection, touched: AbstractSet[str] | None = None) -> None:
    """Write afresh what rests on the tables touched, or everything."""
    if touched is None or touched & _LAID_OUT:
        lay_beds_out(db, anew=True)
    if touched is None or "bench_counts" in touched:
        write_settings(db)


def bring_forward(db: sqlite3.Connection, before: int) -> None:
    """Fill the columns that a file of the form ``before`` did not have, and lay its beds out."""
    fill_new_columns(db, before)
    lay_beds_out(db)
    write_settings(db)


def write_settings(db: sqlite3.Connection) -> None:
    """Seeds per turn at each setting from the bench counts that can be true, written afresh."""
    counts = [
        BenchCount(
            crop=row["crop"],
            seed_lot=row["seed_lot"],
            setting=row["setting"],
            turns=row["turns"],
            seeds=row["seeds"],
            shared_relative=row["shared_relative_u"],
        )
        for (row,) in select(db, {"b": BENCH_COUNTS}, "FROM bench_counts b ORDER BY b.id")
    ]
    db.execute("DELETE FROM settings")
    db.execute("DELETE FROM sqlite_sequence WHERE name = 'settings'")
    for crop, lot in dict.fromkeys((c.crop, c.seed_lot) for c in counts):
        mine = [c for c in counts if (c.crop, c.seed_lot) == (crop, lot)]
        doubtful = doubtful_catches(mine, order_if_known(mine))
        kept = [c for at, c in enumerate(mine) if at not in doubtful]
        dispersion = dispersion_of(kept)
        for setting in dict.fromkeys(c.setting for c in kept):
            figure = setting_figure([c for c in kept if c.setting == setting], dispersion)
            left_out = sum(c.setting == setting for c in mine) - figure.catches
            SETTINGS.insert(db, SettingRow(crop, lot, figure, left_out))
