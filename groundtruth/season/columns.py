"""Columns of the record, each defined once.

From a column's definition follow what it may hold, how it is kept and read, its key in JSON, its
column in a data frame and the one in tables that people read. A column that is new to the record
says by ``since`` from which form of the file on it is there; older files get it when they are
opened.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import KW_ONLY, dataclass
from datetime import date
from itertools import accumulate, pairwise
from typing import Any, Generic, Literal, TypeVar

from ..core.bounds import MOST_NUMBER, MOST_WHOLE, refuse_day, refuse_outside
from ..core.errors import InputError
from ..core.measured import Measured
from ..io.geopackage import from_blob, instant_text, to_blob
from ..io.json_values import time_of_utc
from .refusals import ValueRefused

Source = TypeVar("Source")
_Reader = tuple[str, Callable[..., Any], int]
Row = Mapping[str, Any]
"""A row that was read: values by the column's name, and its own id and those it refers to."""

Kind = Literal[
    "TEXT", "DATE", "DATETIME", "INTEGER", "NUMBERS", "DOUBLE", "BOOLEAN", "GEOMETRY", "MEASURED"
]
"""What a column holds. Text and days are never null. DATETIME is s since 1970 UTC here, text to the
millisecond in the file; NUMBERS whole ones, text with spaces between them there; GEOMETRY a line or
polygon here, a GeoPackage blob there; MEASURED a value with its standard uncertainty here, two
columns there."""

_KEPT_AS: dict[Kind, tuple[type, ...]] = {
    "TEXT": (str,),
    "DATE": (str,),
    "DATETIME": (str,),
    "INTEGER": (int,),
    "NUMBERS": (str,),
    "BOOLEAN": (int,),
    "DOUBLE": (int, float),
    "MEASURED": (int, float),
    "GEOMETRY": (bytes,),
}
"""What SQLite gives for each kind of column."""

Shown = Literal["text", "day", "count", "ground", "percent", "length", "area", "sure"]
"""In which form people read it."""


@dataclass(frozen=True, slots=True)
class RecordColumn(Generic[Source]):
    """One column: what it holds, where that comes from, and what it is called outside.

    ``unit`` ends the name in the file, as in ``ground_per_turn_m``; ``bounds`` is the row of
    `core.bounds.BOUNDS` that its values keep to, ``one_of`` are the texts that it can be. Without
    ``json`` it is not in JSON, without ``heading`` in no table; with ``if_any`` it is only where a
    row has a value.
    """

    name: str
    kind: Kind
    value: Callable[[Source], Any]
    _: KW_ONLY
    unit: str = ""
    bounds: str = ""
    one_of: tuple[str, ...] = ()
    json: str = ""
    heading: str = ""
    shown: Shown = "text"
    if_any: bool = False
    since: int = 1

    @property
    def fields(self) -> tuple[tuple[str, str], ...]:
        """(name, declared type) in the file."""
        name = f"{self.name}{self.unit}"
        if self.kind == "MEASURED":
            return (name, "DOUBLE"), (f"{self.name}_u{self.unit}", "DOUBLE")
        return ((name, {"GEOMETRY": "BLOB", "NUMBERS": "TEXT"}.get(self.kind, self.kind)),)

    def kept(self, source: Source) -> tuple[Any, ...]:
        """What the file keeps, for each of the fields.

        Raises
        ------
        InputError : the value is out of the column's bounds.
        """
        value = self.value(source)
        self._refuse_outside(value)
        if self.kind == "MEASURED":
            return (None, None) if value is None else (value.value, value.std)
        if value is not None and self.kind == "GEOMETRY":
            return (to_blob(value),)
        if self.kind == "NUMBERS":
            return (" ".join(map(str, value)),)
        if self.kind == "DATETIME" and isinstance(value, float):
            return (instant_text(value),)
        return (int(value),) if self.kind == "BOOLEAN" else (value,)

    def read(self, *kept: Any) -> Any:
        """The value of what the file keeps.

        Raises
        ------
        ValueError : the file keeps a value of another kind, or out of the column's bounds.
        """
        if kept[0] is None:
            return None
        if not all(value is None or _fits(value, self.kind) for value in kept):
            raise ValueError(f"{self.name} is no {self.kind}")
        value = self._value_of(*kept)
        self._refuse_outside(value)
        return value

    def _value_of(self, *kept: Any) -> Any:
        if self.kind == "MEASURED":
            return Measured(kept[0], kept[1] or 0.0)
        if self.kind == "GEOMETRY":
            return from_blob(kept[0])
        if self.kind == "NUMBERS":
            return tuple(map(int, kept[0].split()))
        if self.kind == "DATETIME":
            return time_of_utc(kept[0]) if kept[0] else None
        return bool(kept[0]) if self.kind == "BOOLEAN" else kept[0]

    def _refuse_outside(self, value: Any) -> None:
        if value is None or value == "":
            return
        if self.kind == "DATE":
            refuse_day(self.name, _day(self.name, value))
        figure = value.value if isinstance(value, Measured) else value
        if self.one_of and value not in self.one_of:
            raise InputError(f"{self.name} is {value!r}, none of {', '.join(self.one_of)}")
        if self.bounds:
            refuse_outside(self.name, figure, self.bounds)
        if self.kind in ("DOUBLE", "MEASURED"):
            self._refuse_beyond(figure)
            self._refuse_beyond(value.std if isinstance(value, Measured) else 0.0)

    def _refuse_beyond(self, figure: float) -> None:
        """Refuse what cannot be reckoned with: its square would be no number."""
        if figure and not 1 / MOST_NUMBER <= abs(figure) <= MOST_NUMBER:
            raise InputError(
                f"{self.name} is {figure:g}; no figure of a season comes near", column=self.name
            )

    def added_by(self, table: str) -> tuple[str, ...]:
        """The statements that give the column to a file of an earlier form."""
        text = self.kind in ("TEXT", "DATE", "DATETIME", "NUMBERS")
        rest = " NOT NULL DEFAULT ''" if text else ""
        return tuple(
            f"ALTER TABLE {table} ADD COLUMN {name} {kind}{rest}" for name, kind in self.fields
        )


@dataclass(frozen=True, slots=True)
class RecordTable(Generic[Source]):
    """A table of the record: its columns, and the ids of the rows that its rows belong to."""

    name: str
    columns: tuple[RecordColumn[Source], ...]
    refers_to: tuple[str, ...] = ()

    def insert(self, db: sqlite3.Connection, source: Source, **ids: int | None) -> int:
        """Insert a row; returns its id."""
        return insert(db, self.name, {**ids, **self.row(source)})

    def row(self, source: Source) -> dict[str, Any]:
        """What the file keeps of a source, by the names of its columns there."""
        row: dict[str, Any] = {}
        for column in self.columns:
            row.update(zip((n for n, _ in column.fields), column.kept(source), strict=True))
        return row

    def checked(self, kept: Mapping[str, Any]) -> Row:
        """The row that a file keeps so, by the names of its columns there.

        Raises
        ------
        ValueRefused : a value is of another kind, or out of its column's bounds.
        """
        return _row(self.name, self.readers, [kept.get(name) for name in self.fields])

    def fill(self, db: sqlite3.Connection, source: Source, before: int, **where: Any) -> None:
        """Write what a row has in columns that a file of the form ``before`` did not have yet."""
        for column in self.columns:
            if column.since > before and column.since > 1:
                row = dict(zip((n for n, _ in column.fields), column.kept(source), strict=True))
                db.execute(
                    f"UPDATE {self.name} SET {', '.join(f'{n} = ?' for n in row)}"
                    f" WHERE {' AND '.join(f'{n} = ?' for n in where)}",
                    (*row.values(), *where.values()),
                )

    @property
    def fields(self) -> tuple[str, ...]:
        """All columns in the file, the row's id and what it refers to first."""
        return ("id", *self.refers_to, *(n for c in self.columns for n, _ in c.fields))

    @property
    def readers(self) -> tuple[_Reader, ...]:
        """For each value of a row its name, what reads it, how many of the `fields` it takes."""
        ids = ((name, _id, 1) for name in ("id", *self.refers_to))
        return (*ids, *((c.name, c.read, len(c.fields)) for c in self.columns))


def _day(name: str, text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise InputError(f"{name} {text!r} is no day", column=name) from None


def _fits(value: Any, kind: Kind) -> bool:
    return isinstance(value, _KEPT_AS[kind])


def _id(value: Any) -> int | None:
    if value is not None and not (isinstance(value, int) and 0 < value <= MOST_WHOLE):
        raise ValueError(f"{value!r} is no id of a row")
    return value


def insert(db: sqlite3.Connection, table: str, row: Mapping[str, Any]) -> int:
    """Insert a row; returns its id. Table and column names are ours."""
    columns = ", ".join(row)
    marks = ", ".join("?" * len(row))
    done = db.execute(f"INSERT INTO {table} ({columns}) VALUES ({marks})", tuple(row.values()))
    return int(done.lastrowid or 0)


def select(
    db: sqlite3.Connection, tables: Mapping[str, RecordTable[Any]], rest: str
) -> Iterator[tuple[Row, ...]]:
    """Rows of joined tables, one for each table; ``tables`` by the letter that ``rest`` calls them.

    ``rest`` goes on behind the columns: "FROM passes p JOIN …".
    """
    fields = [f"{letter}.{name}" for letter, t in tables.items() for name in t.fields]
    ends = list(accumulate((len(t.fields) for t in tables.values()), initial=0))
    places = [
        (table.name, table.readers, start, end)
        for table, (start, end) in zip(tables.values(), pairwise(ends), strict=True)
    ]
    for kept in db.execute(f"SELECT {', '.join(fields)} {rest}"):
        yield tuple(_row(name, readers, kept[start:end]) for name, readers, start, end in places)


def refused_values(db: sqlite3.Connection, table: RecordTable[Any]) -> Iterator[ValueRefused]:
    """A refusal for each row that `select` would refuse."""
    readers = table.readers
    for kept in db.execute(f"SELECT {', '.join(table.fields)} FROM {table.name} ORDER BY id"):
        try:
            _row(table.name, readers, kept)
        except ValueRefused as err:
            yield err


def _row(table: str, readers: Sequence[_Reader], kept: Sequence[Any]) -> Row:
    row: dict[str, Any] = {}
    at = 0
    try:
        for name, read, width in readers:
            row[name] = read(*kept[at : at + width])
            at += width
    except ValueError as err:
        raise ValueRefused(table, row.get("id"), str(err)) from err
    return row
