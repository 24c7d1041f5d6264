"""A fleet's data set on disk, opened to be asked in SQL.

    FLEET/runs/season=…/*.parquet      one row a run, FLEET/passes/… one row a pass
    FLEET/shared/*.parquet             rows that other farms shared, in the columns of runs

DuckDB reads none of it by name: pyarrow reads the files that are found here, in the columns that
they should have, and DuckDB is kept from files and network altogether.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np

from ..core.errors import InputError
from ..core.safe_text import visible
from .columns import PASS_COLUMNS, RUN_COLUMNS, pass_schema, run_schema
from .sensible import sensible

MOST_ROWS = 200_000_000
_OF_FILES = ("IOException", "InvalidInputException", "ConversionException", "OutOfMemoryException")
"""Errors of DuckDB that come from what stands in the files."""
SHARED = "shared"
"""Status of a row that another farm shared, and the folder of such rows."""

_RUNS = f"""
CREATE TABLE runs AS SELECT *,
  coalesce(nullif(farm_id, ''), farm) AS farm_key,
  coalesce(nullif(seeder_id, ''), seeder) AS seeder_key,
  status = '{SHARED}' OR farm_id || farm || seeder_id || seeder = '' AS nameless,
  coalesce(ground_per_turn_std_m / ground_per_turn_m, change_std / (1 + change),
           slip_std / (1 - slip)) AS log_std,
  CASE WHEN change_std IS NOT NULL THEN ln(1 + change) END AS log_change,
  CASE WHEN slip_std IS NOT NULL THEN -ln(1 - slip) END AS log_rolled
FROM ({sensible(RUN_COLUMNS, "run_files")})
WHERE status <> 'measured' OR (ground_per_turn_std_m / ground_per_turn_m BETWEEN 1e-6 AND 1)
"""
"""Logarithms of ground per turn over the figure in use and over the zero-slip travel, with their
standard uncertainty as far as it is the run's own."""
_PASSES = f"CREATE VIEW passes AS {sensible(PASS_COLUMNS, 'pass_files')}"


class Fleet:
    """A data set that is open: tables ``runs`` and ``passes``, and ``folder``, its name."""

    def __init__(self, db: Any, folder: str) -> None:
        self._db, self.folder = db, folder

    def asked(self, sql: str, *given: object) -> dict[str, Any]:
        """The answer's columns by name: arrays of numbers, NaN where one is null, or of objects."""
        try:
            found = self._db.execute(sql, list(given)).fetchnumpy()
        except Exception as error:
            if type(error).__name__ in _OF_FILES or type(error).__module__.startswith("pyarrow"):
                why = visible(str(error).splitlines()[0], 160)
                raise InputError(f"{self.folder}: cannot be read ({why})") from error
            raise
        return {name: _plain(column) for name, column in found.items()}

    def rows(self, sql: str, *given: object) -> list[dict[str, Any]]:
        """The answer row by row; None where a value is null."""
        columns = self.asked(sql, *given)
        lists = {name: _listed(column) for name, column in columns.items()}
        return [dict(zip(lists, row, strict=True)) for row in zip(*lists.values(), strict=True)]


@contextmanager
def open_fleet(folder: Path) -> Iterator[Fleet]:
    """The data set in a folder.

    Raises
    ------
    InputError : the folder holds none, a file of it is damaged or has other columns, or the
        packages for it are not installed.
    """
    duckdb, dataset = _packages()
    runs, passes = _files(folder, "runs"), _files(folder, "passes")
    shared = sorted((folder / SHARED).glob("*.parquet"))
    if not runs and not shared:
        raise InputError(
            f"{folder}: holds no fleet; groundtruth many FOLDER --out {folder} makes one"
        )
    db = duckdb.connect(":memory:")
    try:
        db.execute("SET enable_external_access = false")
        for name, files, schema in (
            ("run_files", [*runs, *shared], run_schema()),
            ("pass_files", passes, pass_schema()),
        ):
            _check(files, schema)
            given = dataset.dataset([str(f) for f in files], schema=schema, format="parquet")
            db.register(name, given)
        fleet = Fleet(db, str(folder))
        fleet.asked(_RUNS)
        fleet.asked(_PASSES)
        yield fleet
    finally:
        db.close()


def _files(folder: Path, kind: str) -> list[Path]:
    return sorted((folder / kind).glob("season=*/*.parquet"))


def _packages() -> tuple[Any, Any]:
    try:
        import duckdb
        import pyarrow.dataset  # type: ignore[import-untyped, import-not-found, unused-ignore]
    except ImportError as error:
        raise InputError(
            f"a fleet needs the package {error.name}; install it with groundtruth[many]"
        ) from error
    return duckdb, pyarrow.dataset


def _check(files: Sequence[Path], schema: Any) -> None:
    """Refuse a file that is no Parquet, has a column of another kind, or rows beyond all sense."""
    import pyarrow as pa
    import pyarrow.parquet as pq  # type: ignore[import-untyped, import-not-found, unused-ignore]

    rows = 0
    for file in files:
        place = f"{file.parent.name}/{visible(file.name)}"
        try:
            read = pq.ParquetFile(file)
            found = read.schema_arrow
            rows += read.metadata.num_rows
        except (OSError, ValueError, pa.ArrowException) as error:
            raise InputError(
                f"{place}: is no Parquet file that can be read; measure its runs again with "
                "groundtruth many"
            ) from error
        for column in schema:
            if column.name in found.names and found.field(column.name).type != column.type:
                kind = found.field(column.name).type
                raise InputError(
                    f"{place}: {column.name} is of the kind {kind}; it should be {column.type}"
                )
    if rows > MOST_ROWS:
        raise InputError(f"more than {MOST_ROWS:,} rows; ask a part of the fleet")


def _plain(column: Any) -> Any:
    """Numbers without a mask, NaN where one is null; anything else as objects."""
    masked = np.ma.isMaskedArray(column)
    if column.dtype.kind in "iufb":
        return np.ma.filled(column.astype(float), np.nan) if masked else column
    if masked:
        plain = np.asarray(column.data, dtype=object)
        plain[np.ma.getmaskarray(column)] = None
        return plain
    return column


def _listed(column: Any) -> list[Any]:
    if column.dtype.kind == "M":
        return [None if np.isnat(v) else v.astype("datetime64[D]").item() for v in column]
    values = column.tolist()
    return [None if isinstance(v, float) and not np.isfinite(v) else v for v in values]
