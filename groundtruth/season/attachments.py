"""Put what belongs to the runs into the record: map of beds, changes, bench and stand counts."""

from __future__ import annotations

import sqlite3
from collections import Counter
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from ..beds import MapBed
from ..core.counts import StandCount
from ..core.measured import Measured
from ..io.geopackage import Geometry, to_blob
from ..seeding import BenchCount, dispersion_of, setting_figure
from .added import Added
from .bed_layout import lay_beds_out
from .run_rows import insert, map_beds, pair
from .store import SeasonError, writing

CHANGES = ("tyre", "wheel", "gear", "pressure", "unit serviced", "other")
"""Kinds of change on a seeder that a record knows."""


def set_map(path: Path, beds: Sequence[MapBed]) -> Added:
    """Take the grower's own map of beds, in place of an earlier one, and lay out anew.

    Raises
    ------
    SeasonError : the file cannot be used, or two beds have one name.
    """
    counted = Counter(b.name for b in beds)
    twice = next((name for name, count in counted.items() if count > 1), None)
    if twice is not None:
        raise SeasonError(f"two beds of the map are called {twice!r}; give each its own name")
    with writing(path) as db:
        if map_beds(db) == list(beds):
            return Added(
                what="map", outcome="already there", text="this map is recorded already; "
                "nothing was changed",
            )  # fmt: skip
        had = db.execute("SELECT count(*) FROM map_beds").fetchone()[0]
        db.execute("DELETE FROM map_beds")
        for bed in beds:
            insert(
                db,
                "map_beds",
                {
                    "geom": to_blob(Geometry("LINESTRING", bed.ends)),
                    "name": bed.name,
                    "block": bed.block,
                    "width_m": bed.width_m,
                },
            )
        lay_beds_out(db, anew=True)
    return Added(
        what="map",
        outcome="replaced" if had else "added",
        text=f"map of {len(beds)} beds {'put in place of the old one' if had else 'added'}",
    )


def add_change(
    path: Path, *, day: date, kind: str, seeder: str = "", unit: str = "", note: str = ""
) -> Added:
    """Record a change on a seeder; the same again changes nothing.

    Raises
    ------
    SeasonError : the file cannot be used, or ``kind`` is none of `CHANGES`.
    """
    if kind not in CHANGES:
        raise SeasonError(f"{kind!r} is no kind of change; choose one of {', '.join(CHANGES)}")
    row = {"day": day.isoformat(), "kind": kind, "seeder": seeder, "unit": unit, "note": note}
    with writing(path) as db:
        there = db.execute(
            "SELECT 1 FROM seeder_changes WHERE day = ? AND kind = ? AND seeder = ? AND unit = ?"
            " AND note = ?",
            tuple(row.values()),
        ).fetchone()
        if not there:
            insert(db, "seeder_changes", row)
    text = f"{kind}, {day.isoformat()}"
    if there:
        return Added(
            what="change", outcome="already there", text=f"{text}: is recorded already; "
            "nothing was changed",
        )  # fmt: skip
    return Added(what="change", outcome="added", text=f"{text}: added")


def add_bench(path: Path, counts: Sequence[BenchCount], sha256: str) -> Added:
    """Record the counts of a bench sheet; a sheet that is there already changes nothing."""
    with writing(path) as db:
        if db.execute("SELECT 1 FROM bench_counts WHERE sha256 = ?", (sha256,)).fetchone():
            return _sheet_there("bench sheet")
        for count in counts:
            insert(
                db,
                "bench_counts",
                {
                    "sha256": sha256,
                    "line": count.line,
                    "crop": count.crop,
                    "seed_lot": count.seed_lot,
                    "setting": count.setting,
                    "turns": count.turns,
                    **pair("seeds", count.seeds),
                    "shared_relative_u": count.shared_relative,
                    "turns_per_minute": count.turns_per_minute,
                },
            )
        _write_settings(db)
    return Added(
        what="bench sheet", outcome="added", text=f"bench sheet: {len(counts)} catches added"
    )


def _write_settings(db: sqlite3.Connection) -> None:
    """Seeds per turn at each setting from all bench counts, written afresh."""
    counts = [
        BenchCount(
            crop=crop,
            seed_lot=lot,
            setting=setting,
            turns=turns,
            seeds=Measured(seeds, seeds_u),
            shared_relative=shared,
        )
        for crop, lot, setting, turns, seeds, seeds_u, shared in db.execute(
            "SELECT crop, seed_lot, setting, turns, seeds, seeds_u, shared_relative_u"
            " FROM bench_counts ORDER BY id"
        )
    ]
    db.execute("DELETE FROM settings")
    for crop, lot in dict.fromkeys((c.crop, c.seed_lot) for c in counts):
        mine = [c for c in counts if (c.crop, c.seed_lot) == (crop, lot)]
        dispersion = dispersion_of(mine)
        for setting in dict.fromkeys(c.setting for c in mine):
            figure = setting_figure([c for c in mine if c.setting == setting], dispersion)
            insert(
                db,
                "settings",
                {
                    "crop": crop,
                    "seed_lot": lot,
                    "setting": figure.setting,
                    "catches": figure.catches,
                    "turns": figure.turns,
                    **pair("seeds_per_turn", figure.seeds_per_turn),
                    "seeds_per_turn_low": figure.seeds_per_turn_95[0],
                    "seeds_per_turn_high": figure.seeds_per_turn_95[1],
                },
            )


def add_stands(path: Path, counts: Sequence[StandCount], sha256: str) -> Added:
    """Record the counts of a stand sheet; a sheet that is there already changes nothing."""
    with writing(path) as db:
        if db.execute("SELECT 1 FROM stand_counts WHERE sha256 = ?", (sha256,)).fetchone():
            return _sheet_there("stand sheet")
        for count in counts:
            insert(
                db,
                "stand_counts",
                {
                    "sha256": sha256,
                    "line": count.line,
                    "day": str(count.day or ""),
                    "crop": count.crop,
                    "seed_lot": count.seed_lot,
                    "bed": count.bed,
                    "line_of_bed": count.line_of_bed,
                    "length_m": count.length_m,
                    "plants": count.plants,
                    "seeds_per_m": count.seeds_per_m,
                },
            )
    return Added(
        what="stand sheet", outcome="added", text=f"stand sheet: {len(counts)} counts added"
    )


def _sheet_there(what: str) -> Added:
    return Added(
        what=what, outcome="already there", text=f"{what}: is recorded already; nothing was changed"
    )
