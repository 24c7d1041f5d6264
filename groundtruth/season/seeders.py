"""Which seeder a run is of, and how several in one record are kept apart."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable

from ..core.result import Result
from .refusals import SeasonError


def names_in_order(names: Iterable[str]) -> tuple[str, ...]:
    """The names of seeders, each once; runs without one are of no seeder of their own."""
    return tuple(dict.fromkeys(name for name in names if name))


def seeders_of(db: sqlite3.Connection) -> tuple[str, ...]:
    """The seeders that runs of the record name, by the day of their first run."""
    return names_in_order(
        name for (name,) in db.execute("SELECT seeder FROM runs ORDER BY day, id")
    )


def seeder_named_by(db: sqlite3.Connection, result: Result) -> str:
    """The seeder that a run's own description names, "" where it names none.

    A seeder whose id is recorded already keeps the name that its latest run has there.
    """
    seeder = result.seeder
    if seeder.id:
        row = db.execute(
            "SELECT seeder FROM runs WHERE seeder_id = ? AND seeder <> ''"
            " ORDER BY day DESC, id DESC LIMIT 1",
            (seeder.id,),
        ).fetchone()
        if row:
            return str(row[0])
    return seeder.name or seeder.id


def refuse_unnamed(seeders: tuple[str, ...], seeder: str) -> None:
    """Refuse a change that belongs to none of several seeders.

    Raises
    ------
    SeasonError : there are several and it is none of them.
    """
    if len(seeders) > 1 and seeder not in seeders:
        what = f"no run is of the seeder {seeder!r}" if seeder else "a change belongs to one seeder"
        raise SeasonError(f"{what}; say with --seeder which: {', '.join(seeders)}")
