"""Say what is sound in a record and what is not; save what can be read; put a copy back."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, suppress
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any

from ..core.errors import GroundtruthError
from ..core.result import Result
from ..io.database import connect_file
from ..io.files import looked_at
from ..io.result_json import result_from_json
from . import backups
from .bed_tables import TABLES
from .checksums import Findings, compare, part_name
from .columns import insert
from .forms import NEWEST, columns_of, foreign_tables, now_text, version_of
from .packing import unpack
from .placing import new_record
from .refusals import damaged, translated
from .rows_refused import refused_rows
from .run_rows import insert_run
from .store import WAIT_S, SeasonError, writing
from .worked_out import work_out_again

_DEFINED = {table.name: table for table in TABLES}
_BESIDE_RUNS = ("map_beds", "seeder_changes", "sheets", "bench_counts", "stand_counts")
_MOST_ROWS = 100_000
_MOST_NAMED = 5


@dataclass(frozen=True, slots=True)
class Checked:
    """``problems`` are what is wrong, ``remarks`` what is only worth knowing."""

    problems: tuple[str, ...]
    remarks: tuple[str, ...]


def check(path: Path) -> Checked:
    """Look through the whole record without changing it.

    Raises
    ------
    SeasonError : there is no such file, or it is another kind of database.
    """
    problems: list[str] = []
    remarks: list[str] = []
    with translated(path, WAIT_S), closing(_opened(path)) as db:
        try:
            broken = [str(row[0]) for row in db.execute("PRAGMA integrity_check(5)")]
            problems += [f"the file itself: {text}" for text in broken if text != "ok"]
            problems += [
                f"a row of {row[0]} points to a row of {row[2]} that is not there"
                for row in db.execute("PRAGMA foreign_key_check").fetchmany(5)
            ]
            version = version_of(db, path)
            found = compare(db, version)
            problems += [
                f"{part_name(db, p)}: not as it was written" for p in sorted(found.damaged)
            ]
            remarks += [
                f"{part_name(db, p)}: changed by another program" for p in sorted(found.edited)
            ]
            if version == NEWEST:
                problems += [str(one) for one in islice(refused_rows(db), _MOST_NAMED)]
            remarks += [f"{name}: made by another program" for name in foreign_tables(db)]
        except (sqlite3.DatabaseError, UnicodeDecodeError) as err:
            problems.append(f"the file itself: {err}")
        except SeasonError as err:
            problems.append(str(err))
    copies = backups.backups(path)
    if copies:
        remarks.append(
            f"{len(copies)} copies in {backups.backup_folder(path)}, the latest of "
            f"{backups.taken_at(copies[0])}"
        )
    return Checked(tuple(problems), tuple(remarks))


def accept(path: Path) -> str:
    """Take what the record holds now for right, whatever its checksums say; returns what was.

    Raises
    ------
    SeasonError : it holds values that cannot be (see `core.bounds`).
    """
    with writing(path, action="accept", despite_damage=True) as db:
        parts = sorted(db.findings.damaged | db.findings.edited)
        if not parts:
            return "nothing to accept: everything is as it was written"
        for refused in refused_rows(db):
            raise SeasonError(f"{refused}; put it right in the program that changed it first")
        names = "; ".join(part_name(db, part) for part in parts)
        db.findings = Findings()
        work_out_again(db)
        db.log("accept", f"taken as it is: {names}")
        return f"taken as it is: {names}"


def restore(path: Path, which: str) -> str:
    """Put a copy in the place of the record: "1" the latest, or a file; returns what was done.

    Raises
    ------
    SeasonError : there is no such copy, or it is damaged too.
    """
    copies = backups.backups(path)
    if which.isdecimal():
        if not 1 <= int(which) <= len(copies):
            raise SeasonError(f"there is no copy {which}; groundtruth season restore lists them")
        copy = copies[int(which) - 1]
    else:
        copy = Path(which)
    if copy.exists() and path.exists() and copy.samefile(path):
        raise SeasonError(f"{copy}: is the record itself")
    with translated(copy, WAIT_S), closing(_opened(copy)) as db:
        db.execute("BEGIN")  # what is looked at is what is put back
        version = version_of(db, copy)
        if db.execute("PRAGMA integrity_check(1)").fetchone() != ("ok",):
            raise damaged(copy)
        if not version:
            raise SeasonError(f"{copy}: holds no season's record")
        if lost := compare(db, version).lost:
            raise damaged(copy, "; ".join(part_name(db, part) for part in sorted(lost)))
        with translated(path, WAIT_S):
            kept = backups.put_copy_back(path, db)
    said = f"put back: {copy.name}" + (f"; the record as it was is kept as {kept}" if kept else "")
    with writing(path, action="restore") as db:
        db.log("restore", said)
    return said


def rescue(path: Path, new: Path) -> list[str]:
    """Make a new record of what can be read of a damaged one, which stays as it is; returns what
    became of each part.

    A run is saved from its whole result, whose own checksum (Adler-32, RFC 1950) tells whether it
    is as it was written.

    Raises
    ------
    SeasonError : nothing can be read, or there is a file at ``new`` already.
    """
    said: list[str] = []
    with translated(path, WAIT_S), closing(_opened(path)) as old, new_record(new) as part:
        try:
            tables = {t: list(_rows(old, t)) for t in ("runs", "results", *_BESIDE_RUNS)}
        except (sqlite3.DatabaseError, UnicodeDecodeError) as err:
            raise damaged(path, "nothing can be read of it") from err
        found = None
        with suppress(UnicodeDecodeError, sqlite3.DatabaseError, SeasonError):
            found = compare(old, version_of(old, path))
        with writing(part, journal=False) as db:
            said += _saved_runs(db, old, tables, found)
            for table in _BESIDE_RUNS:
                saved = sum(_insert_if_sound(db, table, row) for row in tables[table])
                if tables[table]:
                    doubt = "" if found and table not in found.damaged else "; look them through"
                    said.append(f"{table}: {saved} of {len(tables[table])} rows saved{doubt}")
            work_out_again(db)
            _copy_log(db, old)
            db.log("rescue", f"saved from {path.name}: {'; '.join(said)}")
    return said


def _saved_runs(
    db: sqlite3.Connection,
    old: sqlite3.Connection,
    tables: dict[str, list[dict[str, Any]]],
    found: Findings | None,
) -> list[str]:
    said = []
    noted = {row.get("id"): row for row in tables["runs"]}
    saved = set()
    for row in tables["results"]:
        run_id = row.get("run_id")
        run = noted.get(run_id, {})
        result = _result(row.get("json_zlib"))
        if result is None:
            continue
        texts = {k: v if isinstance(v := run.get(k, ""), str) else "" for k in _NOTED}
        try:
            new_id = insert_run(db, result, **texts, added_at=now_text())
        except (sqlite3.Error, ValueError):
            continue
        # as it was written, to the byte: adding the same run again changes nothing then
        db.execute("UPDATE results SET json_zlib = ? WHERE run_id = ?", (row["json_zlib"], new_id))
        saved.add(run_id)
        sound = found is not None and f"run {run_id}" not in found.damaged
        if sound:
            _copy_along(db, old, run_id, new_id)
        doubt = "" if sound else "; look at its soil, seeder and note"
        said.append(f"run {result.run_name}, {result.date}: saved{doubt}")
    for run_id, run in noted.items():
        if run_id not in saved:
            label = f"{run.get('name', '?')}, {run.get('day', '?')}"
            said.append(f"run {label}: lost; add it again from its files")
    return said


_NOTED = ("seeder", "soil", "note")


def _result(packed: Any) -> Result | None:
    try:
        return result_from_json(unpack(packed), "result")
    except (ValueError, GroundtruthError):
        return None


def _copy_along(db: sqlite3.Connection, old: sqlite3.Connection, was: Any, now: int) -> None:
    """Slip along the passes of a run, which is not in its result."""
    passes = db.execute("SELECT number, id FROM passes WHERE run_id = ?", (now,))
    numbers = dict(passes.fetchall())
    names = [c for c, _ in columns_of(2)["slip_along"] if c not in ("id", "pass_id")]
    rows = old.execute(
        f"SELECT p.number, {', '.join('s.' + n for n in names)} FROM slip_along s"
        " JOIN passes p ON p.id = s.pass_id WHERE p.run_id = ? ORDER BY s.id",
        (was,),
    ).fetchall()
    for number, *values in rows:
        if number in numbers:
            row = {"pass_id": numbers[number], **dict(zip(names, values, strict=True))}
            insert(db, "slip_along", row)


def _copy_log(db: sqlite3.Connection, old: sqlite3.Connection) -> None:
    """The lines of the log; the steps themselves belong to the rows of the old file."""
    kinds = {"id": int, "at": str, "action": str, "text": str, "tool_version": str}
    numbers = set()
    with suppress(UnicodeDecodeError, sqlite3.DatabaseError):
        for row in _rows(old, "journal"):
            line = {name: row.get(name) for name in kinds}
            if all(isinstance(line[name], kind) for name, kind in kinds.items()):
                undone = row.get("undone_by")
                insert(db, "journal", {**line, "undone_by": undone if undone in numbers else None})
                numbers.add(line["id"])


def _insert_if_sound(db: sqlite3.Connection, table: str, row: dict[str, Any]) -> bool:
    ours = {c for c, _ in columns_of(NEWEST)[table]}
    try:
        if table in _DEFINED:
            _DEFINED[table].checked(row)
        insert(db, table, {c: v for c, v in row.items() if c in ours})
    except (sqlite3.Error, ValueError, TypeError):
        return False
    return True


def _rows(db: sqlite3.Connection, table: str) -> Iterator[dict[str, Any]]:
    """The rows of a table that can be read: all at once, else one by one."""
    names = [row[1] for row in db.execute(f"PRAGMA table_info({table})")]
    if not names:
        return
    try:
        rows = db.execute(f"SELECT * FROM {table} ORDER BY id").fetchall()
    except (sqlite3.DatabaseError, UnicodeDecodeError):
        rows = []
        for row_id in range(1, _last_id(db, table) + 1):
            with suppress(UnicodeDecodeError, sqlite3.DatabaseError):
                rows += db.execute(f"SELECT * FROM {table} WHERE id = ?", (row_id,)).fetchall()
    yield from (dict(zip(names, row, strict=True)) for row in rows)


def _last_id(db: sqlite3.Connection, table: str) -> int:
    with suppress(UnicodeDecodeError, sqlite3.DatabaseError):
        row = db.execute("SELECT seq FROM sqlite_sequence WHERE name = ?", (table,)).fetchone()
        if row and isinstance(row[0], int):
            return min(int(row[0]), _MOST_ROWS)
    return _MOST_ROWS


def _opened(path: Path) -> sqlite3.Connection:
    try:
        found = looked_at(path, 1)
    except (OSError, ValueError):
        found = None
    if found is None:
        raise SeasonError(f"{path}: there is no such file")
    return connect_file(path, "ro", found[1], timeout=WAIT_S)
