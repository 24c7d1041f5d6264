"""Open the season's file: checked, brought forward, in one transaction, with clear refusals.

Rollback journal, synchronised to the folder: a commit is whole or not there after a crash or a
power cut, and the record stays one file that can be copied. Writers wait for each other. What is
read is held against its checksums first; what is written is copied beforehand and noted in the
record's own journal.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Literal

from ..io.database import connect_file, refuse_exchanged
from ..io.files import FileIdentity, identity_of, looked_at
from ..io.writing import make_folder
from .backups import Backup
from .checksums import WORKED_OUT, Findings, compare, part_name, seal
from .forms import NEWEST, migrate, version_of
from .journal import Record
from .refusals import SeasonError, damaged, translated
from .spatial import add_functions

__all__ = ["SeasonError", "is_free", "reading", "writing"]

WAIT_S = 60.0
MAX_VALUE_BYTES = 256 << 20
"""Of one value or row, so that none fills the memory."""
_MAGIC = b"SQLite format 3\x00"


@contextmanager
def reading(path: Path) -> Iterator[sqlite3.Connection]:
    """A consistent view of the record.

    A record of an earlier form, or one whose worked-out tables are not as they were left, is first
    put in order.

    Raises
    ------
    SeasonError : there is no such record, or it cannot be used, or something in it is damaged.
    """
    _check_file(path)
    if not path.exists() or path.stat().st_size == 0:
        raise SeasonError(
            f"{path}: there is no season's record yet; groundtruth season add begins one"
        )
    with translated(path, WAIT_S):
        db = _view(path)
        try:
            version = version_of(db, path)
            found = compare(db, version)
            _sound(db, path, found)
            may_write = os.access(path, os.W_OK)
            if version < NEWEST or found.damaged or (found.edited and may_write):
                db.close()
                with writing(path, action="put in order"):
                    pass
                db = _view(path)
            yield db
        finally:
            db.close()


@contextmanager
def writing(
    path: Path,
    *,
    action: str = "",
    upto: int = NEWEST,
    journal: bool = True,
    despite_damage: bool = False,
) -> Iterator[Record]:
    """A transaction on the record, begun if missing: all of it is kept, or nothing.

    What it does is noted in the record's journal as ``action``, with what the caller puts into
    ``said``; a copy of the record as it was is kept beside it. ``upto`` leaves a new file in an
    earlier form; without ``journal`` nothing is noted or copied. ``despite_damage`` leaves it to
    the caller to look at ``findings``; parts that stay damaged stay known as such.

    Raises
    ------
    SeasonError : it cannot be used, or another program holds it.
    """
    _check_file(path)
    try:
        make_folder(path.parent)
    except OSError as err:
        raise SeasonError(f"{path.parent}: cannot be made ({err.strerror})") from err
    journal = journal and upto == NEWEST
    with translated(path, WAIT_S), closing(_connect(path, write=True)) as db:
        copy = Backup(path, db) if journal and path.exists() and path.stat().st_size else None
        file = identity_of(path.stat())
        try:
            db.execute("BEGIN IMMEDIATE")
            _healthy(db, path)
            version, before = version_of(db, path), db.total_changes
            db.action, db.findings = action, compare(db, version)
            if not despite_damage:
                _sound(db, path, db.findings)
            migrate(db, path, upto)
            if journal:
                db.watch()
                work_out_damaged(db)
            yield db
            if journal:
                db.close_entry()
            unsound = db.findings.damaged if db.findings.lost else frozenset()
            seal(db, version_of(db, path), keep=unsound)
            refuse_exchanged(path, file)  # what is told to be done would be in the old one
            if copy and db.total_changes > before and not db.findings.damaged:
                copy.keep()
            db.execute("COMMIT")
        except BaseException:
            if db.in_transaction:
                db.execute("ROLLBACK")
            raise
        finally:
            if copy:
                copy.drop()


def is_free(path: Path) -> bool:
    """Whether there is nothing at ``path`` but perhaps what a killed first writing left there."""
    _check_file(path)
    if not path.exists() or path.stat().st_size == 0:
        return True
    with translated(path, WAIT_S), closing(_connect(path, write=True)) as db:
        # opening rolls back what was not committed
        return not db.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]


def work_out_damaged(db: Record) -> None:
    """Work out again what is damaged or was edited by another program, and say so.

    Raises
    ------
    ValueRefused : the other program wrote a value that its column cannot hold.
    """
    damaged_too, edited = db.findings.damaged & WORKED_OUT, db.findings.edited
    if db.findings.lost or not (damaged_too or edited):
        return
    from .rows_refused import refused_rows
    from .worked_out import work_out_again

    if edited:
        for refused in refused_rows(db):
            raise refused
    said = []
    if damaged_too:
        said.append(f"worked out again, since it was damaged: {', '.join(sorted(damaged_too))}")
    if edited:
        names = sorted(part_name(db, part) for part in edited)
        said.append(f"changed by another program: {'; '.join(names)}")
        if edited & WORKED_OUT:
            said.append(
                f"written afresh: {', '.join(sorted(edited & WORKED_OUT))} (names of beds belong "
                "into your own map, groundtruth season beds)"
            )
    work_out_again(db)
    db.remark = f" ({'; '.join(said)})"
    db.log("put in order", "; ".join(said))


def _check_file(path: Path) -> FileIdentity | None:
    """Refuse folders, unreadable files and foreign formats before SQLite is asked; which file it
    is, None where there is none."""
    try:
        found = looked_at(path, len(_MAGIC))
    except FileNotFoundError:
        return None
    except (OSError, ValueError) as err:
        if os.path.isdir(path):
            raise SeasonError(
                f"{path}: is a folder; name the file of the season's record"
            ) from None
        why = getattr(err, "strerror", None) or "its name cannot be used"
        raise SeasonError(f"{path}: cannot be read ({why})") from err
    if found is None:
        raise SeasonError(f"{path}: is a device or pipe; name the file of the season's record")
    head, file = found
    # a first writing that was killed may have left blank pages, which SQLite will take back
    begun = not any(head) and path.with_name(path.name + "-journal").exists()
    if head and head != _MAGIC and not begun:
        raise SeasonError(f"{path}: is not a season's record; choose another file with --season")
    return file


def _view(path: Path) -> Record:
    """A connection that sees one state of the record."""
    db = _connect(path, write=False)
    try:
        db.execute("BEGIN")
        _healthy(db, path)
    except BaseException:
        db.close()
        raise
    return db


def _connect(path: Path, *, write: bool) -> Record:
    # a reader too must be able to roll back what a crash left half done
    mode: Literal["rwc", "rw", "ro"] = (
        "rwc" if write else "rw" if os.access(path, os.W_OK) else "ro"
    )
    db = connect_file(
        path, mode, _check_file(path), timeout=WAIT_S, isolation_level=None, factory=Record
    )
    assert isinstance(db, Record)
    try:
        db.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, MAX_VALUE_BYTES)
        db.execute("PRAGMA foreign_keys = ON")
        add_functions(db)
        if write:
            # the folder is synced too once the journal is gone: a commit that was told outlives a
            # power cut [SQLite, "PRAGMA synchronous"]
            db.execute("PRAGMA synchronous = EXTRA")
    except BaseException:  # a damaged file
        db.close()
        raise
    return db


def _healthy(db: sqlite3.Connection, path: Path) -> None:
    # the whole check: the quick one passes over indexes, from which answers are read too
    (found,) = db.execute("PRAGMA integrity_check(1)").fetchone()
    if found != "ok":
        raise damaged(path)


def _sound(db: sqlite3.Connection, path: Path, found: Findings) -> None:
    """Refuse a record of which something is damaged that cannot be worked out again."""
    if found.lost:
        names = sorted(part_name(db, part) for part in found.lost)
        more = f" and {len(names) - 3} more" if len(names) > 3 else ""
        raise damaged(path, f"{'; '.join(names[:3])}{more}: not as it was written")
