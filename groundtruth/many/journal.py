"""The journal of a data set: which runs are in it, and in which of its files.

SQLite, with one writer that holds it for its whole call. A run is done once its row is committed
here, and no sooner; a Parquet file counts once it is named here.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..core.errors import InputError
from .arrow import Kind
from .outcomes import Outcome

FILE_NAME = "journal.sqlite"
_APPLICATION = 0x67746D79
"""By which the file says that it is ours [SQLite, "Database File Format", 1.3.17]."""
_FORM = 1
_WAIT_S = 2.0
_TABLES = """
CREATE TABLE runs (
    key TEXT PRIMARY KEY, source TEXT NOT NULL, status TEXT NOT NULL, season INTEGER,
    part TEXT -- null while its rows wait
) WITHOUT ROWID;
CREATE INDEX runs_of_part ON runs (part);
CREATE TABLE places (place TEXT PRIMARY KEY, key TEXT NOT NULL) WITHOUT ROWID;
CREATE INDEX places_of_key ON places (key);
CREATE TABLE waiting (
    key TEXT PRIMARY KEY, season INTEGER, runs BLOB NOT NULL, passes BLOB NOT NULL
);
CREATE TABLE parts (
    name TEXT PRIMARY KEY, season INTEGER, runs INTEGER NOT NULL, bytes INTEGER NOT NULL
) WITHOUT ROWID;
CREATE TABLE replaced (
    part TEXT NOT NULL, key TEXT NOT NULL, PRIMARY KEY (part, key)
) WITHOUT ROWID;
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """Two Parquet files of one name, of runs and of their passes; ``bytes`` of both together."""

    name: str
    season: int | None
    runs: int
    bytes: int


class FleetJournal:
    """What is done, what waits to be put into files, and which files count."""

    def __init__(self, db: sqlite3.Connection) -> None:
        self._db = db

    def has(self, key: str) -> bool:
        """Whether a run is done."""
        return bool(self._one("SELECT EXISTS (SELECT 1 FROM runs WHERE key = ?)", key))

    def is_at(self, place: str, key: str) -> bool:
        """Whether a run is noted to be found at a place."""
        return bool(self._one("SELECT key FROM places WHERE place = ?", place) == key)

    def found(self, places: Sequence[tuple[str, str]]) -> None:
        """Note at which place the run of a key is found now."""
        with self._db:
            self._db.executemany("INSERT OR REPLACE INTO places VALUES (?, ?)", places)

    def keep(self, outcomes: Sequence[tuple[str, Outcome]]) -> None:
        """Note outcomes, each with the place of its run, in one transaction.

        A run that was done before is replaced.
        """
        with self._db:
            for place, one in outcomes:
                self._replace(one.key)
                self._db.execute(
                    "INSERT INTO runs (key, source, status, season) VALUES (?, ?, ?, ?)",
                    (one.key, one.source, one.status, one.season),
                )
                self._db.execute(
                    "INSERT INTO waiting VALUES (?, ?, ?, ?)",
                    (one.key, one.season, one.run, one.passes),
                )
                self._db.execute("INSERT OR REPLACE INTO places VALUES (?, ?)", (place, one.key))

    def drop_unplaced(self) -> None:
        """Take out the runs that are found nowhere any more, since others are in their places."""
        with self._db:
            rows = self._db.execute(
                "SELECT key FROM runs WHERE key NOT IN (SELECT key FROM places)"
            )
            for (key,) in rows.fetchall():
                self._replace(key)

    def ended_as(self, statuses: Iterable[str]) -> set[str]:
        """The keys of the runs of some statuses."""
        asked = list(statuses)
        marks = ", ".join("?" * len(asked))
        rows = self._db.execute(f"SELECT key FROM runs WHERE status IN ({marks})", asked)
        return {key for (key,) in rows}

    def counts(self) -> dict[str, int]:
        """How many runs there are of each status."""
        return dict(self._db.execute("SELECT status, count(*) FROM runs GROUP BY status"))

    def waiting(self) -> int:
        """How many runs wait to be put into files."""
        return int(self._one("SELECT count(*) FROM waiting"))

    def waiting_seasons(self) -> list[int | None]:
        """The seasons of the runs that wait."""
        return [s for (s,) in self._db.execute("SELECT DISTINCT season FROM waiting ORDER BY 1")]

    def waiting_rows(self, season: int | None) -> Iterator[tuple[str, dict[Kind, bytes]]]:
        """The key and the streams of rows of each run of a season that waits."""
        rows = self._db.execute(
            "SELECT key, runs, passes FROM waiting WHERE season IS ?", (season,)
        )
        for key, runs, passes in rows:
            yield key, {"runs": runs, "passes": passes}

    def parts(self) -> list[Part]:
        """The files that count."""
        rows = self._db.execute("SELECT name, season, runs, bytes FROM parts ORDER BY name")
        return [Part(name=n, season=s, runs=r, bytes=b) for n, s, r, b in rows]

    def replaced(self) -> dict[str, set[str]]:
        """By part the keys of runs in it that count no more."""
        found: dict[str, set[str]] = {}
        for part, key in self._db.execute("SELECT part, key FROM replaced"):
            found.setdefault(part, set()).add(key)
        return found

    def exchange(self, gone: Iterable[str], new: Iterable[tuple[Part, Iterable[str]]]) -> None:
        """Let new parts, each with the keys in it, take the place of others and of what waits."""
        with self._db:
            for name in gone:
                self._db.execute("DELETE FROM parts WHERE name = ?", (name,))
                self._db.execute("DELETE FROM replaced WHERE part = ?", (name,))
            for part, keys in new:
                self._db.execute(
                    "INSERT INTO parts VALUES (?, ?, ?, ?)",
                    (part.name, part.season, part.runs, part.bytes),
                )
                for key in keys:
                    self._db.execute("UPDATE runs SET part = ? WHERE key = ?", (part.name, key))
                    self._db.execute("DELETE FROM waiting WHERE key = ?", (key,))

    def lose(self, part: str) -> int:
        """Forget a part that is not there any more; returns how many runs went with it."""
        with self._db:
            self._db.execute("DELETE FROM parts WHERE name = ?", (part,))
            self._db.execute("DELETE FROM replaced WHERE part = ?", (part,))
            return self._db.execute("DELETE FROM runs WHERE part = ?", (part,)).rowcount

    def _replace(self, key: str) -> None:
        """Take a run out: from what waits, or, at the next exchange, from its part."""
        part = self._one("SELECT part FROM runs WHERE key = ?", key)
        if part is not None:
            self._db.execute("INSERT OR IGNORE INTO replaced VALUES (?, ?)", (part, key))
        self._db.execute("DELETE FROM waiting WHERE key = ?", (key,))
        self._db.execute("DELETE FROM runs WHERE key = ?", (key,))

    def _one(self, statement: str, *values: object) -> Any:
        row = self._db.execute(statement, values).fetchone()
        return None if row is None else row[0]


@contextmanager
def opened_journal(folder: Path) -> Iterator[FleetJournal]:
    """The journal of a data set's folder, begun if missing, held until the end of the block.

    Raises
    ------
    InputError : another call holds it, it is not ours, or it cannot be written.
    """
    path = folder / FILE_NAME
    try:
        db = sqlite3.connect(path, timeout=_WAIT_S)
    except sqlite3.Error as why:
        raise InputError(f"{path}: cannot be opened ({why}); choose another --out") from why
    try:
        _begun(db, path)
        yield FleetJournal(db)
    except sqlite3.OperationalError as why:
        raise _unusable(path, str(why)) from why
    except sqlite3.DatabaseError as why:
        raise InputError(
            f"{path}: is damaged ({why}); measure into a new folder, the runs are unharmed"
        ) from why
    finally:
        db.close()


def _begun(db: sqlite3.Connection, path: Path) -> None:
    db.execute("PRAGMA locking_mode = EXCLUSIVE")  # the system lets go of it with the process
    db.execute("PRAGMA synchronous = FULL")
    db.execute("BEGIN EXCLUSIVE")
    (application,) = db.execute("PRAGMA application_id").fetchone()
    (form,) = db.execute("PRAGMA user_version").fetchone()
    if (application, form) == (0, 0) and not db.execute("SELECT 1 FROM sqlite_master").fetchone():
        for statement in _TABLES.split(";"):
            db.execute(statement)
        db.execute(f"PRAGMA application_id = {_APPLICATION}")
        db.execute(f"PRAGMA user_version = {_FORM}")
    elif application != _APPLICATION:
        raise InputError(f"{path}: was not written by groundtruth many; choose another --out")
    elif form != _FORM:
        raise InputError(
            f"{path}: is of form {form}, and this version knows {_FORM}; measure into a new folder"
        )
    db.execute("COMMIT")


def _unusable(path: Path, why: str) -> InputError:
    if "locked" in why or "busy" in why:
        return InputError(
            f"{path}: another groundtruth many is writing there; wait for it, or choose another "
            "--out"
        )
    if "readonly" in why or "unable to open" in why:
        return InputError(f"{path}: cannot be written; choose another --out")
    return InputError(
        f"{path}: cannot be written ({why}); start the same command again when there is room: it "
        "goes on"
    )
