"""Put sheets of bench and stand counts into the record, a corrected one in place of the wrong one.

A sheet is known by its counts, not by its bytes: other line ends, another spreadsheet or a moved
column make no new sheet of it.
"""

from __future__ import annotations

import sqlite3
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..core.counts import BenchCount, StandCount
from .added import Added, Outcome
from .columns import insert
from .forms import now_text
from .noted_tables import BENCH_COUNTS, STAND_COUNTS, BenchRow, StandRow
from .store import SeasonError, writing
from .worked_out import write_settings

Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class SheetKind:
    """A kind of sheet: what people call it and its counts, and the table that holds them."""

    sheet: str
    counts: str
    table: str


BENCH = SheetKind("bench sheet", "catches", "bench_counts")
STANDS = SheetKind("stand sheet", "counts", "stand_counts")
KINDS = {"bench": BENCH, "stands": STANDS}


@dataclass(frozen=True, slots=True)
class _Sheet:
    """A recorded sheet and how many of its counts the new one holds too."""

    name: str
    sha256: str
    counts: int
    shared: int


def add_bench(
    path: Path,
    counts: Sequence[BenchCount],
    sha256: str,
    *,
    name: str = "",
    replace: bool = False,
    also: bool = False,
) -> Added:
    """Record the counts of a bench sheet; a sheet that is there already changes nothing.

    A sheet of the same name that holds all counts of the recorded one takes its place. One that
    is like a recorded one in name or counts takes its place where ``replace`` is asked for, and
    stands beside it with ``also``.

    Raises
    ------
    SeasonError : the file cannot be used, or it holds such a sheet and neither was asked for.
    """
    rows = [BENCH_COUNTS.row(BenchRow(count, sha256)) for count in counts]
    return _add(path, "bench", rows, sha256, name=name, replace=replace, also=also)


def add_stands(
    path: Path,
    counts: Sequence[StandCount],
    sha256: str,
    *,
    name: str = "",
    replace: bool = False,
    also: bool = False,
) -> Added:
    """Record the counts of a stand sheet, as `add_bench` does those of a bench sheet."""
    rows = [STAND_COUNTS.row(StandRow(count, sha256)) for count in counts]
    return _add(path, "stands", rows, sha256, name=name, replace=replace, also=also)


def remove_sheet(db: sqlite3.Connection, kind: str, sha256: str) -> None:
    """Take a sheet and its counts out; the figures that rest on them are left to the caller."""
    db.execute(f"DELETE FROM {KINDS[kind].table} WHERE sha256 = ?", (sha256,))
    db.execute("DELETE FROM sheets WHERE kind = ? AND sha256 = ?", (kind, sha256))


def _add(
    path: Path,
    kind: str,
    rows: Sequence[Row],
    sha256: str,
    *,
    name: str,
    replace: bool,
    also: bool,
) -> Added:
    what = KINDS[kind]
    with writing(path, action=kind) as db:
        alike = _alike(db, kind, rows, name, sha256)
        same = any(sheet.shared == sheet.counts == len(rows) for sheet in alike)
        if any(sheet.sha256 == sha256 for sheet in alike) or (same and not also):
            text = f"{what.sheet}: is recorded already; nothing was changed{db.remark}"
            return Added(what=what.sheet, outcome="already there", text=text)
        gone = () if also else _to_go(what, alike, name, replace=replace)
        for sheet in gone:
            remove_sheet(db, kind, sheet.sha256)
        insert(db, "sheets", {"kind": kind, "name": name, "sha256": sha256, "added_at": now_text()})
        for row in rows:
            insert(db, what.table, row)
        if kind == "bench":
            write_settings(db)
        outcome: Outcome = "replaced" if gone else "added"
        db.said = f"{what.sheet}{f' {name}' if name else ''}: {len(rows)} {what.counts} added"
        if gone:
            old = gone[0]
            db.said += f", in place of {old.name or 'a sheet'} with {old.counts} {what.counts}"
        text = db.said + db.remark
    return Added(what=what.sheet, outcome=outcome, text=text)


def _to_go(
    what: SheetKind, alike: Sequence[_Sheet], name: str, *, replace: bool
) -> Sequence[_Sheet]:
    """What the new sheet takes the place of."""
    if not alike:
        return ()
    if len(alike) > 1:
        best = [s for s in alike if s.shared == max(other.shared for other in alike)]
        if len(best) > 1 and not all(s.name == name for s in alike):
            best = [s for s in best if s.name == name] or best
        if len(best) > 1:
            raise SeasonError(
                f"{name or what.sheet}: is like {len(alike)} sheets of the record; take out what "
                "it corrects with groundtruth season remove, or keep all with --also"
            )
        alike = best
    old = alike[0]
    if not replace and not (old.shared == old.counts and old.name == name and name):
        raise SeasonError(
            f"{name or what.sheet}: the record holds a sheet like it ({old.name or 'no name kept'}"
            f", {old.counts} {what.counts}, {old.shared} of them the same); put this one in its "
            "place with --replace, or keep both with --also"
        )
    return alike


def _alike(
    db: sqlite3.Connection, kind: str, rows: Sequence[Row], name: str, sha256: str
) -> list[_Sheet]:
    """Recorded sheets of the same name, or with half of their counts (and two at least) in the
    new one."""
    table = KINDS[kind].table
    columns = [c for c in rows[0] if c not in ("line", "sha256")] if rows else ["crop"]
    new = Counter(tuple(row[c] for c in columns) for row in rows)
    found = []
    for old_name, old_sha in db.execute(
        "SELECT name, sha256 FROM sheets WHERE kind = ? ORDER BY id", (kind,)
    ).fetchall():
        held = db.execute(
            f"SELECT {', '.join(columns)} FROM {table} WHERE sha256 = ?", (old_sha,)
        ).fetchall()
        shared = (new & Counter(held)).total()
        like = shared >= 2 and 2 * shared >= len(held)
        if old_sha == sha256 or (name and old_name == name) or like:
            found.append(_Sheet(old_name, old_sha, len(held), shared))
    return found
