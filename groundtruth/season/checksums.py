"""Checksums of what the record holds, part by part, so that a flipped byte never passes for data.

A part is a run with all its rows, or a table of what belongs to no run. SQLite's own check sees
broken pages, not a figure that turned into another.
"""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from hashlib import sha256
from typing import Any

from .forms import NEWEST, columns_of

TABLE = "checksums"
SINCE = 4
"""The first form that has them."""
_BY_PASS = "(SELECT run_id FROM passes WHERE passes.id = pass_id)"
_RUN_OF = {
    "runs": "id",
    "results": "run_id",
    "inputs": "run_id",
    "passes": "run_id",
    "row_units": "run_id",
    "turn_counts": _BY_PASS,
    "slip_along": _BY_PASS,
}
WORKED_OUT = frozenset(
    ("fits", "fitted_passes", "beds", "strips", "oddities", "anomalies", "settings")
)
"""Tables that can be worked out again from the others; oddities are those of form 4."""


@dataclass(frozen=True, slots=True)
class Findings:
    """Parts that are not as they were left: ``damaged``, or ``edited`` by another program, which
    notes in the GeoPackage that it did [OGC 12-128r19, 1.1.3: last_change]."""

    damaged: frozenset[str] = frozenset()
    edited: frozenset[str] = frozenset()

    @property
    def lost(self) -> frozenset[str]:
        """What is damaged and cannot be worked out again."""
        return self.damaged - WORKED_OUT


def compare(db: sqlite3.Connection, version: int = NEWEST) -> Findings:
    """Hold what the record holds against its checksums."""
    if version < SINCE:
        return Findings()
    kept = _kept(db)
    now, changed = _sums(db, version), _last_changes(db)
    other = {
        part
        for part in {*now, *kept}
        if (part in now) != (part in kept) or now[part] != kept[part][0]
    }
    edited = {
        part
        for part in other
        if changed.get(_table(part), "") > kept.get(part, ("", changed.get(_table(part), "")))[1]
    }
    return Findings(damaged=frozenset(other - edited), edited=frozenset(edited))


def seal(db: sqlite3.Connection, version: int, keep: frozenset[str] = frozenset()) -> None:
    """Write the checksums of what the record holds now; parts in ``keep``, known to be damaged,
    keep theirs as long as they are there."""
    if version < SINCE:
        return
    changed = _last_changes(db)
    now = {p: (digest, changed.get(_table(p), "")) for p, digest in _sums(db, version).items()}
    kept = _kept(db)
    # a flipped byte may have left what is no part's name
    db.execute(f"DELETE FROM {TABLE} WHERE typeof(part) <> 'text'")
    for part in sorted({*now, *kept}):
        if part in now and part in keep:
            continue
        if part not in now:
            db.execute(f"DELETE FROM {TABLE} WHERE part = ?", (part,))
        elif now[part] != kept.get(part):
            db.execute(
                f"INSERT INTO {TABLE} (part, sha256, changed_at) VALUES (?, ?, ?) ON CONFLICT"
                " (part) DO UPDATE SET sha256 = excluded.sha256, changed_at = excluded.changed_at",
                (part, *now[part]),
            )


def part_name(db: sqlite3.Connection, part: str) -> str:
    """A part as people know it."""
    word, _, number = part.partition(" ")
    if word != "run":
        return f"the table {part}"
    row = db.execute("SELECT name, day FROM runs WHERE id = ?", (number,)).fetchone()
    return f"run {number}" + (f", {row[0]}, {row[1]}" if row else "")


def _kept(db: sqlite3.Connection) -> dict[str, tuple[str, str]]:
    """The checksum of each part, and when its table was last changed by then."""
    rows = db.execute(f"SELECT part, sha256, changed_at FROM {TABLE}")
    return {str(part): (str(digest), str(at)) for part, digest, at in rows}


def _table(part: str) -> str:
    return "runs" if part.startswith("run ") else part


def _last_changes(db: sqlite3.Connection) -> dict[str, str]:
    """When each table was last changed, as programs that edit a GeoPackage note it."""
    found = {
        str(table): str(at)
        for table, at in db.execute("SELECT table_name, last_change FROM gpkg_contents")
    }
    found["runs"] = max((found.get(t, "") for t in _RUN_OF), default="")
    return found


def _sums(db: sqlite3.Connection, version: int) -> dict[str, str]:
    digests: dict[str, Any] = {}
    for table, columns in columns_of(version).items():
        if table == TABLE:
            continue
        names = ", ".join(c for c, _ in columns)
        if table not in _RUN_OF:
            digests[table] = sha256()
        run = _RUN_OF.get(table, "NULL")
        for run_id, *row in db.execute(f"SELECT {run}, {names} FROM {table} ORDER BY id"):
            part = table if table not in _RUN_OF else f"run {run_id}"
            digest = digests.setdefault(part, sha256())
            digest.update(f"{table}\n".encode())
            for value in row:
                data = value if isinstance(value, bytes) else repr(value).encode()
                digest.update(f"{type(value).__name__} {len(data)}\n".encode())
                digest.update(data)
    return {part: digest.hexdigest() for part, digest in digests.items()}
