"""The whole record as CSV, GeoJSON or Parquet files, one for each table, and back without loss.

Numbers are written with every digit, geometries as well-known text (CSV), GeoJSON or well-known
binary (Parquet), packed bytes in base64 where the format is text. An empty CSV cell is null for a
number and "" for text, which is never null in the record.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

from ..core.errors import InputError
from ..io.writing import hashes, write_all_whole
from .asparquet import parquet_bytes, read_parquet
from .astext import csv_text, geojson_text, read_csv, read_geojson
from .bed_layout import touch
from .exporttable import ExportTable
from .schema import MIGRATIONS
from .store import SeasonError, migrate, reading, writing

FORMATS = ("csv", "geojson", "parquet")
MANIFEST = "season.json"
_FORM = "groundtruth season export"


def export_season(path: Path, folder: Path, form: str, *, overwrite: bool = False) -> list[Path]:
    """Write every table of the record into ``folder``; returns the files.

    Raises
    ------
    SeasonError : the record cannot be read.
    InputError : the folder cannot be written to, a file that no export wrote is in the way and
        not ``overwrite``, the format is not known, or it is Parquet and pyarrow is not installed.
    """
    if form not in FORMATS:
        raise InputError(f"{form}: formats are {', '.join(FORMATS)}")
    with reading(path) as db:
        tables = _tables(db)
        (forms,) = db.execute("SELECT count(*) FROM season_migrations").fetchone()
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except FileExistsError:
        raise InputError(f"{folder}: is a file; name a folder to write into") from None
    except OSError as err:
        raise InputError(f"{folder}: cannot be made ({err.strerror})") from err
    contents = {f"{t.name}.{form}": _WRITERS[form](t) for t in tables}
    manifest = {
        "form": _FORM,
        "version": forms,
        "format": form,
        "tables": [t.name for t in tables],
        "files": hashes(contents),
    }
    # last: until it is in place the one before does not fit the files, and import says so
    contents[MANIFEST] = json.dumps(manifest, indent=1) + "\n"
    write_all_whole({folder / name: c for name, c in contents.items()}, overwrite=overwrite)
    return [folder / name for name in contents]


def import_season(folder: Path, path: Path) -> int:
    """Make a new record from exported files; returns the number of runs.

    Raises
    ------
    SeasonError : there is a record at ``path`` already, or the files do not fit together.
    InputError : a file is missing or damaged.
    """
    manifest = _manifest(folder)
    form = manifest["format"]
    if path.exists() and path.stat().st_size:
        raise SeasonError(
            f"{path}: is there already; import into a new file with --season NEW.gpkg"
        )
    with writing(path, upto=manifest["version"]) as db:
        db.execute("PRAGMA defer_foreign_keys = ON")
        db.execute("DELETE FROM season_migrations")
        for empty in _tables(db):
            if empty.name not in manifest["tables"]:
                raise InputError(f"{folder / MANIFEST}: lacks the table {empty.name}")
            file = folder / f"{empty.name}.{form}"
            try:
                rows = _READERS[form](file, empty)
            except OSError as err:
                raise InputError(f"{file}: cannot be read ({err.strerror or err})") from err
            except (ValueError, KeyError, TypeError, IndexError) as err:
                raise InputError(f"{file}: is damaged or was changed ({err})") from err
            names = ", ".join(c for c, _ in empty.columns)
            marks = ", ".join("?" * len(empty.columns))
            db.executemany(f"INSERT INTO {empty.name} ({names}) VALUES ({marks})", rows)
        broken = db.execute("PRAGMA foreign_key_check").fetchone()
        if broken:
            raise InputError(f"{folder}: a row of {broken[0]} points to a row that is not there")
        migrate(db, path)
        touch(db)
        (runs,) = db.execute("SELECT count(*) FROM runs").fetchone()
    return int(runs)


def _manifest(folder: Path) -> dict[str, Any]:
    file = folder / MANIFEST
    try:
        manifest = json.loads(file.read_text(encoding="utf-8"))
        known = manifest["form"] == _FORM and manifest["format"] in FORMATS
        version, tables = manifest["version"], manifest["tables"]
        known = known and type(version) is int and isinstance(tables, list)
    except OSError as err:
        raise InputError(
            f"{file}: cannot be read ({err.strerror}); give the folder of an export"
        ) from err
    except (ValueError, KeyError, TypeError) as err:
        raise InputError(f"{file}: is no manifest of an export") from err
    if not known:
        raise InputError(f"{file}: is no manifest of an export")
    if not 1 <= version <= len(MIGRATIONS):
        raise InputError(f"{file}: was written by a later groundtruth; update groundtruth")
    return dict(manifest)


def _tables(db: sqlite3.Connection) -> list[ExportTable]:
    names = [r[0] for r in db.execute("SELECT table_name FROM gpkg_contents ORDER BY rowid")]
    found = []
    for name in names:
        columns = tuple((row[1], row[2]) for row in db.execute(f"PRAGMA table_info({name})"))
        rows = db.execute(f"SELECT {', '.join(c for c, _ in columns)} FROM {name} ORDER BY id")
        found.append(ExportTable(name, columns, rows.fetchall()))
    return found


_WRITERS: dict[str, Callable[[ExportTable], str | bytes]] = {
    "csv": csv_text,
    "geojson": geojson_text,
    "parquet": parquet_bytes,
}
_READERS: dict[str, Callable[[Path, ExportTable], list[tuple[Any, ...]]]] = {
    "csv": read_csv,
    "geojson": read_geojson,
    "parquet": read_parquet,
}
