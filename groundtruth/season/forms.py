"""The forms a record has had: which it is in, what belongs to each, how it is brought forward."""

from __future__ import annotations

import sqlite3
import time
from contextlib import closing
from functools import cache
from pathlib import Path

from ..io.geopackage import instant_text
from ..io.geopackage_tables import APPLICATION_ID, GEOPACKAGE_VERSION
from .refusals import SeasonError, damaged
from .schema import MIGRATIONS

NEWEST = len(MIGRATIONS)
Columns = tuple[tuple[str, str], ...]
"""(name, declared type) of each column of a table."""


def migrate(db: sqlite3.Connection, path: Path | str = "", upto: int = NEWEST) -> None:
    """Bring an empty file, or one of an earlier form, forward in the caller's transaction."""
    before = done = version_of(db, path)
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
    if 0 < before < done == NEWEST:
        from .worked_out import bring_forward

        bring_forward(db, before)


def version_of(db: sqlite3.Connection, path: Path | str) -> int:
    """Migrations applied, 0 for an empty file.

    Raises
    ------
    SeasonError : it is another kind of database, of a later form, or lacks what its form has.
    """
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
    if done > NEWEST:
        raise SeasonError(
            f"{path}: was written by a later groundtruth (form {done}, this one knows "
            f"{NEWEST}); update groundtruth"
        )
    for table, columns in columns_of(int(done)).items():
        there = {row[1] for row in db.execute(f"PRAGMA table_info({table})")}
        if table not in tables or not there:
            raise damaged(path, f"the table {table} is gone, perhaps renamed by another program")
        for column, _ in columns:
            if column not in there:
                raise damaged(
                    path,
                    f"the column {column} of {table} is gone, perhaps renamed by another program",
                )
    return int(done)


@cache
def columns_of(version: int) -> dict[str, Columns]:
    """The tables of a record of a form, each with its columns."""
    if version == 0:
        return {}
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as db:
        for _, statements in MIGRATIONS[:version]:
            for statement in statements:
                db.execute(statement)
        names = [r[0] for r in db.execute("SELECT table_name FROM gpkg_contents ORDER BY rowid")]
        return {
            name: tuple((row[1], row[2]) for row in db.execute(f"PRAGMA table_info({name})"))
            for name in names
        }


def foreign_tables(db: sqlite3.Connection) -> list[str]:
    """Layers and tables that another program has put into the record."""
    ours = columns_of(NEWEST)
    names = [str(r[0]) for r in db.execute("SELECT table_name FROM gpkg_contents ORDER BY rowid")]
    return [name for name in names if name not in ours]


def now_text() -> str:
    """This instant as a GeoPackage writes it."""
    return instant_text(time.time())
