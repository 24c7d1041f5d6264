"""Load a fleet's data set into a shared record: all of it or nothing, the same rows once each."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..core.errors import InputError
from ..core.safe_text import visible
from . import postgis_merge as merge
from .columns import MEASURED, pass_schema, run_schema
from .postgis_connection import connected, driver, first_line

if TYPE_CHECKING:
    from psycopg import Connection, Cursor

TRIES = 5
"""Of a load that the server ends because two waited for each other."""
_BATCH_ROWS = 65_536
_SCHEMA = "postgis_schema.sql"


@dataclass(frozen=True, slots=True, kw_only=True)
class Loaded:
    """What became of a data set: runs and passes that are new, that were changed, all of them;
    earlier measurements ``replaced``, and runs without a figure, ``left_out``."""

    runs: int
    new_runs: int
    changed_runs: int
    passes: int
    new_passes: int
    changed_passes: int
    replaced: int
    left_out: int


def schema_sql() -> str:
    """The statements that make a shared record, or bring one of an earlier form forward."""
    from importlib.resources import files

    return (files(__package__) / _SCHEMA).read_text(encoding="utf-8")


def load_fleet(folder: Path, service: str, *, farm: str = "") -> Loaded:
    """Put every measured run of a data set, with its passes, into a shared record.

    ``farm`` is the farm of runs that name none. The record holds each run once, however often it is
    loaded; a run measured anew takes the place of its earlier measurement.

    Raises
    ------
    InputError : the folder is no data set or lacks a part, the record cannot be reached or is none,
        or the role may not write these farms' rows.
    """
    runs, passes = (_files(folder, kind) for kind in ("runs", "passes"))
    errors = driver().errors
    for left in reversed(range(TRIES)):
        try:
            with connected(service) as db:
                return _load(db, folder, runs, passes, farm)
        except (errors.DeadlockDetected, errors.SerializationFailure) as err:
            if not left:
                raise InputError(f"{service}: others load at the same time; try again") from err
        except errors.Error as err:
            raise InputError(f"{service}: {_said(err)}") from err
    raise AssertionError("the last try ends the loop")


def _files(folder: Path, kind: str) -> list[str]:
    found = sorted(str(path) for path in (folder / kind).glob("season=*/*.parquet"))
    if not found:
        raise InputError(
            f"{folder}: holds no {kind}/season=…/*.parquet; groundtruth many --out makes such a "
            "data set"
        )
    return found


def _load(
    db: Connection[Any], folder: Path, runs: list[str], passes: list[str], farm: str
) -> Loaded:
    from psycopg import errors

    ask = db.cursor()
    for statement in merge.INCOMING:
        _execute(ask, statement)
    measured, left_out = _copy_runs(ask, folder, runs)
    copied = _copy(ask, "incoming_passes", _batches(folder, passes, pass_schema()))
    try:
        for statement in merge.KEYS:
            _execute(ask, statement)
    except errors.UniqueViolation as err:
        raise InputError(
            f"{folder}: a run is in it twice; wait until groundtruth many has ended, or copy the "
            "whole folder again"
        ) from err
    _execute(ask, merge.FARMS, farm)
    for statement in merge.ANALYZED:
        _execute(ask, statement)
    _refuse(ask, folder)
    new_runs, changed_runs = _execute(ask, merge.RUNS)[0]
    _execute(ask, merge.REPLACED)
    replaced = ask.rowcount
    _execute(ask, merge.PASSES_GONE)
    new_passes, changed_passes = _execute(ask, merge.PASSES)[0]
    return Loaded(
        runs=measured,
        new_runs=new_runs,
        changed_runs=changed_runs,
        passes=copied,
        new_passes=new_passes,
        changed_passes=changed_passes,
        replaced=replaced,
        left_out=left_out,
    )


def _refuse(ask: Cursor[Any], folder: Path) -> None:
    for statement, what, advice in (
        (merge.WITHOUT_FARM, "without a farm", "name it with --farm, or write farm = … into them"),
        (merge.LACKING, "of which passes are missing", "copy the whole folder again"),
    ):
        count, first = _execute(ask, statement)[0]
        if count:
            named = f", the first is {visible(first, 80)}" if first else ""
            raise InputError(f"{folder}: {count} runs {what}{named}; {advice}")


def _execute(ask: Cursor[Any], statement: str, *values: object) -> list[Any]:
    ask.execute(statement, values or None)
    return ask.fetchall() if ask.description else []


def _copy_runs(ask: Cursor[Any], folder: Path, files: list[str]) -> tuple[int, int]:
    """Copy the measured runs; returns how many, and how many others there are."""
    import pyarrow.compute as pc  # type: ignore[import-untyped, import-not-found, unused-ignore]

    left_out = 0

    def measured() -> Iterator[Any]:
        nonlocal left_out
        for batch in _batches(folder, files, run_schema()):
            kept = batch.filter(pc.equal(batch.column("status"), MEASURED))
            left_out += len(batch) - len(kept)
            yield kept

    return _copy(ask, "incoming_runs", measured()), left_out


def _batches(folder: Path, files: list[str], schema: Any) -> Iterator[Any]:
    """Rows of Parquet files, some at a time; columns that a file has not are null."""
    import pyarrow as pa  # type: ignore[import-untyped, import-not-found, unused-ignore]
    import pyarrow.dataset as ds  # type: ignore[import-untyped, import-not-found, unused-ignore]

    try:
        yield from ds.dataset(files, schema=schema, format="parquet").to_batches(
            batch_size=_BATCH_ROWS
        )
    except (pa.ArrowException, OSError, ValueError) as err:
        raise InputError(f"{folder}: cannot be read ({first_line(err)})") from err


def _copy(ask: Cursor[Any], table: str, batches: Iterator[Any]) -> int:
    """Copy rows into a table of the session as CSV; returns how many."""
    import pyarrow as pa
    import pyarrow.csv as csv  # type: ignore[import-untyped, import-not-found, unused-ignore]

    rows = 0
    options = csv.WriteOptions(include_header=False)
    columns = (run_schema() if table == "incoming_runs" else pass_schema()).names
    statement = f"COPY {table} ({', '.join(columns)}) FROM STDIN (FORMAT csv)"
    with ask.copy(statement) as copy:
        for batch in batches:
            text = pa.BufferOutputStream()
            csv.write_csv(batch, text, options)
            copy.write(memoryview(text.getvalue()))
            rows += len(batch)
    return rows


def _said(error: Exception) -> str:
    """What a database refused, and what to do."""
    from psycopg import errors

    if isinstance(error, (errors.InvalidSchemaName, errors.UndefinedTable, errors.UndefinedColumn)):
        return "holds no shared record of this version; make it with groundtruth fleet schema"
    if isinstance(error, errors.InsufficientPrivilege):
        return (
            f"this role may not write these rows ({first_line(error)}); a farm loads its own rows "
            "alone, named in fleet.members"
        )
    return f"nothing was loaded ({first_line(error)})"
