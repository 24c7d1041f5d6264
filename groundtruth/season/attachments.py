"""Put what belongs to the runs into the record: map of beds, changes on the seeder."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from ..beds import MapBed
from .added import Added
from .bed_layout import lay_beds_out
from .bed_tables import MAP_BEDS
from .layout_inputs import map_beds
from .noted_tables import SEEDER_CHANGES, SeederChange
from .seeders import refuse_unnamed, seeders_of
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
    with writing(path, action="beds") as db:
        if map_beds(db) == list(beds):
            return Added(
                what="map", outcome="already there", text="this map is recorded already; "
                "nothing was changed",
            )  # fmt: skip
        had = db.execute("SELECT count(*) FROM map_beds").fetchone()[0]
        db.execute("DELETE FROM map_beds")
        for bed in beds:
            MAP_BEDS.insert(db, bed)
        lay_beds_out(db, anew=True)
        db.said = f"map of {len(beds)} beds {'put in place of the old one' if had else 'added'}"
        text = db.said + db.remark
    return Added(what="map", outcome="replaced" if had else "added", text=text)


def refuse_kind(kind: str) -> None:
    """Refuse a kind of change that a record does not know."""
    if kind not in CHANGES:
        raise SeasonError(f"{kind!r} is no kind of change; choose one of {', '.join(CHANGES)}")


def add_change(
    path: Path, *, day: date, kind: str, seeder: str = "", unit: str = "", note: str = ""
) -> Added:
    """Record a change on a seeder; the same again changes nothing.

    Raises
    ------
    SeasonError : the file cannot be used, ``kind`` is none of `CHANGES`, or the record names
        several seeders and ``seeder`` is none of them.
    """
    refuse_kind(kind)
    change = SeederChange(day=day.isoformat(), kind=kind, seeder=seeder, unit=unit, note=note)
    with writing(path, action="change") as db:
        refuse_unnamed(seeders_of(db), seeder)
        there = db.execute(
            "SELECT 1 FROM seeder_changes WHERE day = ? AND kind = ? AND seeder = ? AND unit = ?"
            " AND note = ?",
            (change.day, kind, seeder, unit, note),
        ).fetchone()
        if not there:
            SEEDER_CHANGES.insert(db, change)
        db.said = f"{kind}, {day.isoformat()}: added"
        text = db.said + db.remark
    if there:
        text = f"{kind}, {day.isoformat()}: is recorded already; nothing was changed"
        return Added(what="change", outcome="already there", text=text)
    return Added(what="change", outcome="added", text=text)
