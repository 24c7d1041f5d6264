"""Open the season's file: checked, brought forward, in one transaction, with clear refusals.

Rollback journal and full synchronisation: a commit is whole or not there after a crash or a power
cut, and the record stays one file that can be copied. Writers wait for each other.
"""

from __future__ import annotations

import os
import sqlite3
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from functools import cache
from pathlib import Path

from ..core.errors import InputError
from .schema import APPLICATION_ID, GEOPACKAGE_VERSION, MIGRATIONS

ENVIRONMENT = "GROUNDTRUTH_SEASON"
FILE_NAME = "season.gpkg"
WAIT_S = 60.0
_MAGIC = b"SQLite format 3\x00"


class SeasonError(InputError):
    """The season's file cannot be used."""


def season_path(given: Path | str | None = None) -> Path:
    """Where the record is: as given, else GROUNDTRUTH_SEASON, else the platform's data folder.

    XDG Base Directory Specification on Unix, ~/Library/Application Support on macOS,
    %LOCALAPPDATA% on Windows (common practice there).
    """
    if given:
        return Path(given)
    if named := os.environ.get(ENVIRONMENT):
        return Path(named)
    home = Path.home()
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA") or home / "AppData" / "Local")
    elif sys.platform == "darwin":
        base = home / "Library" / "Application Support"
    else:
        base = Path(os.environ.get("XDG_DATA_HOME") or home / ".local" / "share")
    return base / "groundtruth" / FILE_NAME


@contextmanager
def reading(path: Path) -> Iterator[sqlite3.Connection]:
    """A consistent view of the record.

    Raises
    ------
    SeasonError : there is no such record, or it cannot be used.
    """
    _check_file(path)
    if not path.exists() or path.stat().st_size == 0:
        raise SeasonError(
            f"{path}: there is no season's record yet; groundtruth season add begins one"
        )
    with _translated(path):
        db = _connect(path, write=False)
        try:
            _behind = _version(db, path) < len(MIGRATIONS)
        finally:
            db.close()
        if _behind:
            with writing(path):
                pass
        db = _connect(path, write=False)
        try:
            db.execute("BEGIN")
            _healthy(db, path)
            yield db
        finally:
            db.close()


@contextmanager
def writing(path: Path, *, upto: int = len(MIGRATIONS)) -> Iterator[sqlite3.Connection]:
    """A transaction on the record, begun if missing: all of it is kept, or nothing.

    ``upto`` leaves a new file in an earlier form.

    Raises
    ------
    SeasonError : it cannot be used, or another program holds it.
    """
    _check_file(path)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as err:
        raise SeasonError(f"{path.parent}: cannot be made ({err.strerror})") from err
    with _translated(path):
        db = _connect(path, write=True)
        try:
            db.execute("BEGIN IMMEDIATE")
            try:
                _healthy(db, path)
                migrate(db, path, upto)
                yield db
            except BaseException:
                if db.in_transaction:
                    db.execute("ROLLBACK")
                raise
            db.execute("COMMIT")
        finally:
            db.close()


def migrate(db: sqlite3.Connection, path: Path | str = "", upto: int = len(MIGRATIONS)) -> None:
    """Bring an empty file, or one of an earlier form, forward in the caller's transaction."""
    done = _version(db, path)
    for name, statements in MIGRATIONS[done:upto]:
        if done == 0:
            db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            db.execute(f"PRAGMA user_version = {GEOPACKAGE_VERSION}")
        for statement in statements:
            db.execute(statement)
        db.execute(
            "INSERT INTO season_migrations (name, applied_at) VALUES (?, ?)", (name, now_text())
        )
        done += 1


@cache
def columns_of(version: int) -> dict[str, tuple[tuple[str, str], ...]]:
    """The tables of a record of a form, each with its columns as (name, declared type)."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as db:
        migrate(db, upto=version)
        names = [r[0] for r in db.execute("SELECT table_name FROM gpkg_contents ORDER BY rowid")]
        return {
            name: tuple((row[1], row[2]) for row in db.execute(f"PRAGMA table_info({name})"))
            for name in names
        }


def foreign_tables(db: sqlite3.Connection) -> list[str]:
    """Layers and tables that another program has put into the record."""
    ours = columns_of(len(MIGRATIONS))
    names = [str(r[0]) for r in db.execute("SELECT table_name FROM gpkg_contents ORDER BY rowid")]
    return [name for name in names if name not in ours]


def is_free(path: Path) -> bool:
    """Whether there is nothing at ``path`` but perhaps what a killed first writing left there."""
    _check_file(path)
    if not path.exists() or path.stat().st_size == 0:
        return True
    with _translated(path), closing(_connect(path, write=True)) as db:
        # opening rolls back what was not committed
        return not db.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]


def now_text() -> str:
    """This instant as a GeoPackage writes it [OGC 12-128r19, table 1: DATETIME]."""
    return datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def _check_file(path: Path) -> None:
    """Refuse folders, unreadable files and foreign formats before SQLite is asked."""
    if path.is_dir():
        raise SeasonError(f"{path}: is a folder; name the file of the season's record")
    try:
        with open(path, "rb") as file:
            head = file.read(len(_MAGIC))
    except FileNotFoundError:
        return
    except OSError as err:
        raise SeasonError(f"{path}: cannot be read ({err.strerror})") from err
    # a first writing that was killed may have left blank pages, which SQLite will take back
    begun = not any(head) and path.with_name(path.name + "-journal").exists()
    if head and head != _MAGIC and not begun:
        raise SeasonError(f"{path}: is not a season's record; choose another file with --season")


def _connect(path: Path, *, write: bool) -> sqlite3.Connection:
    # a reader too must be able to roll back what a crash left half done
    mode = "rwc" if write else "rw" if os.access(path, os.W_OK) else "ro"
    db = sqlite3.connect(
        f"{path.absolute().as_uri()}?mode={mode}",
        uri=True,
        timeout=WAIT_S,
        isolation_level=None,
    )
    db.execute("PRAGMA foreign_keys = ON")
    if write:
        db.execute("PRAGMA synchronous = FULL")
    return db


def _version(db: sqlite3.Connection, path: Path | str) -> int:
    """Migrations applied, 0 for an empty file."""
    tables = {row[0] for row in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    if not tables:
        return 0
    (application,) = db.execute("PRAGMA application_id").fetchone()
    if application != APPLICATION_ID or "season_migrations" not in tables:
        what = "a GeoPackage" if application == APPLICATION_ID else "a database"
        raise SeasonError(
            f"{path}: is {what}, but no season's record; choose another file with --season"
        )
    (done,) = db.execute("SELECT count(*) FROM season_migrations").fetchone()
    if done > len(MIGRATIONS):
        raise SeasonError(
            f"{path}: was written by a later groundtruth (form {done}, this one knows "
            f"{len(MIGRATIONS)}); update groundtruth"
        )
    return int(done)


def _healthy(db: sqlite3.Connection, path: Path) -> None:
    (found,) = db.execute("PRAGMA quick_check(1)").fetchone()
    if found != "ok":
        raise _damaged(path)


def _damaged(path: Path) -> SeasonError:
    return SeasonError(
        f"{path}: is damaged; take the last copy of it, or begin a new one and add the runs again"
    )


@contextmanager
def _translated(path: Path) -> Iterator[None]:
    """SQLite's refusals in words that say what to do."""
    try:
        yield
    except sqlite3.OperationalError as err:
        text = str(err)
        if "locked" in text or "busy" in text:
            raise SeasonError(
                f"{path}: another program has held it for {WAIT_S:.0f} s; close it there (a map "
                "program that edits?) and try again; nothing was changed"
            ) from err
        if "readonly" in text or "read-only" in text:
            raise SeasonError(
                f"{path}: is read-only; make it writable or choose another with --season"
            ) from err
        if "unable to open" in text:
            raise SeasonError(
                f"{path}: cannot be opened; check the folder and its permissions"
            ) from err
        if "full" in text:
            raise SeasonError(f"{path}: the disk is full; nothing was changed") from err
        raise SeasonError(f"{path}: cannot be used ({text})") from err
    except sqlite3.IntegrityError as err:
        raise SeasonError(f"{path}: the record refused this ({err}); nothing was changed") from err
    except sqlite3.DatabaseError as err:
        raise _damaged(path) from err
