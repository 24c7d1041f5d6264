"""Take back, take out and put right what the record holds."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from .attachments import CHANGES, refuse_kind
from .checksums import WORKED_OUT, Findings, part_name
from .columns import select
from .journal import Entry, entries, put_back, rows_before
from .noted_tables import SEEDER_CHANGES
from .refusals import damaged
from .seeders import refuse_unnamed, seeders_of
from .sheets import KINDS, remove_sheet
from .store import SeasonError, reading, writing
from .worked_out import work_out_again

WHAT = ("run", "change", "bench", "stands", "beds")
"""What can be taken out of a record."""


@dataclass(frozen=True, slots=True)
class Which:
    """Which one is meant: by name (of a change: its kind), day or number; "" and None are any."""

    name: str = ""
    day: str = ""
    number: int | None = None


@dataclass(frozen=True, slots=True)
class _One:
    number: int
    name: str
    day: str
    label: str
    key: str


def log(path: Path) -> list[Entry]:
    """What was done to the record, step by step."""
    with reading(path) as db:
        return entries(db)


def undo(path: Path, number: int | None = None) -> str:
    """Take back the latest step that stands, or the step of a number; returns what was done.

    The taking back is a step too and can itself be taken back by its number.

    Raises
    ------
    SeasonError : there is no such step, it is too long ago, or a later one rests on it.
    """
    with writing(path, action="undo") as db:
        steps = entries(db)
        if number is None:
            standing = [
                s for s in steps if s.can_go_back and s.undone_by is None and s.action != "undo"
            ]
            if not standing:
                raise SeasonError(f"{path}: there is no step that could be taken back")
            step = standing[-1]
        else:
            step = _step(steps, number)
        gone = {s.number for s in steps if s.undone_by} | {s.undone_by for s in steps}
        later = [
            row[0]
            for row in db.execute(
                "SELECT DISTINCT b.entry_id FROM journal_rows a JOIN journal_rows b"
                " ON b.table_name = a.table_name AND b.row_id = a.row_id"
                " WHERE a.entry_id = ? AND b.entry_id > a.entry_id ORDER BY 1",
                (step.number,),
            )
            if row[0] not in gone
        ]
        if later:
            raise SeasonError(
                f"step {step.number} cannot be taken back alone: step {later[-1]} changed the same "
                f"later; take that back first (groundtruth season undo {later[-1]})"
            )
        db.execute("PRAGMA defer_foreign_keys = ON")
        touched = put_back(db, rows_before(db, step.number))
        work_out_again(db, touched)
        db.said = f"step {step.number} taken back ({step.action}: {step.text})"
        entry = db.close_entry()
        db.execute("UPDATE journal SET undone_by = ? WHERE id = ?", (entry, step.number))
        if step.action == "undo":
            db.execute("UPDATE journal SET undone_by = NULL WHERE undone_by = ?", (step.number,))
        return db.said + db.remark


def _step(steps: list[Entry], number: int) -> Entry:
    for step in steps:
        if step.number == number:
            if step.undone_by is not None:
                raise SeasonError(f"step {number} was taken back already, by step {step.undone_by}")
            if not step.can_go_back:
                raise SeasonError(
                    f"step {number} changed no row, or is too long ago to be taken back; "
                    "groundtruth season restore has older copies"
                )
            return step
    raise SeasonError(f"there is no step {number}; groundtruth season log lists them")


def remove(path: Path, what: str, which: Which = Which()) -> str:
    """Take out a run, a change, a sheet or the map of beds; returns what went.

    Raises
    ------
    SeasonError : nothing or more than one thing fits, or the record cannot be used.
    """
    with writing(path, action="remove", despite_damage=True) as db:
        one = None if what == "beds" else _the_one(db, what, which)
        itself = {f"run {one.number}"} if one and what == "run" else set()
        others = sorted(db.findings.lost - itself)
        if others and not itself & db.findings.lost:
            raise damaged(path, "; ".join(others))
        if what == "beds":
            count = db.execute("DELETE FROM map_beds").rowcount
            if not count:
                raise SeasonError(f"{path}: the record holds no map of beds")
            touched, label = {"map_beds"}, f"map of {count} beds"
        else:
            assert one is not None
            label = one.label
            if what == "run":
                db.execute("DELETE FROM runs WHERE id = ?", (one.number,))
                touched = {"runs"}
            elif what == "change":
                db.execute("DELETE FROM seeder_changes WHERE id = ?", (one.number,))
                touched = set()
            else:
                remove_sheet(db, what, one.key)
                touched = {KINDS[what].table}
        db.said = f"taken out: {label}"
        if others:  # what is worked out waits until all is sound again
            names = "; ".join(part_name(db, part) for part in others)
            db.said += f"; still damaged: {names}"
            db.findings = Findings(damaged=frozenset(others) | WORKED_OUT)
        else:
            work_out_again(db, touched | (db.findings.damaged & WORKED_OUT and {"runs"}))
        return db.said + db.remark


def edit_run(path: Path, which: Which, new: Mapping[str, str]) -> str:
    """Put right the ``name``, ``soil``, ``seeder`` or ``note`` of a run; returns what was done."""
    return _edit(path, "run", "runs", which, new, ("name", "soil", "seeder", "note"))


def edit_change(path: Path, which: Which, new: Mapping[str, str]) -> str:
    """Put right the ``day``, ``kind``, ``seeder``, ``unit`` or ``note`` of a recorded change.

    Raises
    ------
    SeasonError : nothing or more than one fits, or kind or seeder are none that `add_change` takes.
    """
    refuse_kind(new.get("kind", CHANGES[0]))
    if "day" in new:
        date.fromisoformat(new["day"])
    known = ("day", "kind", "seeder", "unit", "note")
    return _edit(path, "change", "seeder_changes", which, new, known)


def _edit(
    path: Path,
    what: str,
    table: str,
    which: Which,
    new: Mapping[str, str],
    known: tuple[str, ...],
) -> str:
    with writing(path, action="edit") as db:
        seeders = seeders_of(db)
        if what == "change" and "seeder" in new:
            refuse_unnamed(seeders, new["seeder"])
        one = _the_one(db, what, which)
        columns = [column for column in known if column in new]
        had = dict(
            zip(
                columns,
                db.execute(
                    f"SELECT {', '.join(columns)} FROM {table} WHERE id = ?", (one.number,)
                ).fetchone(),
                strict=True,
            )
        )
        changed = [column for column in columns if had[column] != new[column]]
        if not changed:
            return f"{one.label}: is so already; nothing was changed"
        setting = ", ".join(f"{column} = ?" for column in changed)
        values = (*(new[column] for column in changed), one.number)
        try:
            db.execute(f"UPDATE {table} SET {setting} WHERE id = ?", values)
        except sqlite3.IntegrityError as err:
            raise SeasonError(f"{one.label}: such a {what} is recorded already") from err
        if what == "run" and "seeder" in changed and len({*seeders, *seeders_of(db)}) > 1:
            work_out_again(db, {"runs"})
        said = "; ".join(f"{c} {had[c]!r} is now {new[c]!r}" for c in changed)
        db.said = f"{one.label}: {said}"
        return db.said + db.remark


def rename_bed(path: Path, old: str, new: str) -> str:
    """Give a bed of the grower's map another name, in the turn sheets' words too.

    Raises
    ------
    SeasonError : the map has no such bed, or one of the new name already.
    """
    with writing(path, action="edit") as db:
        names = [row[0] for row in db.execute("SELECT name FROM map_beds ORDER BY id")]
        if not names:
            raise SeasonError(
                "beds have names of their own only on a map: groundtruth season beds takes yours"
            )
        found = [name for name in names if name.casefold() == old.strip().casefold()]
        if not found:
            raise SeasonError(f"the map has no bed {old!r}; it has {', '.join(names[:8])} …")
        if not new.strip() or any(n.casefold() == new.casefold() for n in names if n != found[0]):
            raise SeasonError(f"{new!r} cannot be the name of bed {old}; is it another bed's?")
        db.execute("UPDATE map_beds SET name = ? WHERE name = ?", (new, found[0]))
        db.execute("UPDATE passes SET bed_written = ? WHERE bed_written = ?", (new, found[0]))
        work_out_again(db, {"map_beds"})
        db.said = f"bed {found[0]} is now called {new}"
        return db.said + db.remark


_Rows = Callable[[sqlite3.Connection], list[_One]]


def _runs(db: sqlite3.Connection) -> list[_One]:
    return [
        _One(number, name, day, f"run {name}, {day}, {passes} passes", "")
        for number, name, day, passes in db.execute(
            "SELECT id, name, day, (SELECT count(*) FROM passes WHERE run_id = runs.id) FROM runs"
            " ORDER BY day, id"
        )
    ]


def _changes(db: sqlite3.Connection) -> list[_One]:
    found = []
    rows = select(db, {"c": SEEDER_CHANGES}, "FROM seeder_changes c ORDER BY c.day, c.id")
    for (change,) in rows:
        said = ", ".join(change[name] for name in ("seeder", "unit", "note") if change[name])
        label = f"change {change['kind']}, {change['day']}{f' ({said})' if said else ''}"
        found.append(_One(change["id"], change["kind"], change["day"], label, ""))
    return found


def _sheets(kind: str) -> _Rows:
    def rows(db: sqlite3.Connection) -> list[_One]:
        what = KINDS[kind]
        return [
            _One(number, name, at[:10], f"{what.sheet} {name}, {count} {what.counts}", sha)
            for number, name, sha, at, count in db.execute(
                "SELECT id, name, sha256, added_at, (SELECT count(*) FROM"
                f" {what.table} c WHERE c.sha256 = sheets.sha256) FROM sheets WHERE kind = ?"
                " ORDER BY id",
                (kind,),
            )
        ]

    return rows


_LISTS: dict[str, _Rows] = {
    "run": _runs,
    "change": _changes,
    "bench": _sheets("bench"),
    "stands": _sheets("stands"),
}


def _the_one(db: sqlite3.Connection, what: str, which: Which) -> _One:
    every = _LISTS[what](db)
    fits = [
        one
        for one in every
        if (which.number is None or one.number == which.number)
        and (not which.name or one.name.casefold() == which.name.strip().casefold())
        and (not which.day or one.day == which.day)
    ]
    if len(fits) == 1 and (which.number is not None or which.name or which.day):
        return fits[0]
    shown = "; ".join(f"number {one.number}: {one.label}" for one in (fits or every)[:8])
    more = " …" if len(fits or every) > 8 else ""
    if not every:
        raise SeasonError(f"the record holds nothing of that kind ({what})")
    if not fits:
        raise SeasonError(f"no {what} fits; the record holds {shown}{more}")
    raise SeasonError(f"say which with --number: {shown}{more}")
