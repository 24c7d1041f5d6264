"""The whole record as CSV, GeoJSON or Parquet files, one for each table, and back without loss.

Numbers are written with every digit, geometries as well-known text (CSV), GeoJSON or well-known
binary (Parquet), packed bytes in base64 where the format is text. An empty CSV cell is null for a
number and "" for text, which is never null in the record.

GPX holds the beds alone, to find them again in the field; it is not read back.
"""

from __future__ import annotations

import csv
import json
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

from ..core.errors import InputError
from ..core.safe_text import visible
from ..io.bounded_json import parse_json
from ..io.files import MAX_TRACK_BYTES, load
from ..io.writing import Content, hashes, make_folder, sealed, write_all_whole
from .asparquet import parquet_bytes, read_parquet
from .astext import csv_text, geojson_text, rows_of_csv, rows_of_geojson
from .bed_layout import touch
from .checksums import TABLE as CHECKSUMS
from .exporttable import ExportTable
from .forms import NEWEST, Columns, columns_of, foreign_tables, migrate
from .placing import new_record
from .query import beds_laid_out
from .refusals import ValueRefused, damaged
from .rows_refused import refused_rows
from .store import SeasonError, reading, writing

FORMATS = ("csv", "geojson", "parquet")
BEDS_ALONE = "gpx"
MANIFEST = "season.json"
MAX_MANIFEST_BYTES = 1 << 20
_FORM = "groundtruth season export"


def export_season(
    path: Path, folder: Path, form: str, *, overwrite: bool = False
) -> tuple[list[Path], list[str]]:
    """Write every table of the record into ``folder``; returns the files, and the names of tables
    that another program has put into the record and that are left out.

    Raises
    ------
    SeasonError : the record cannot be read.
    InputError : the folder cannot be written to, a file that no export wrote is in the way and
        not ``overwrite``, the format is not known, or it is Parquet and pyarrow is not installed.
    """
    if form not in (*FORMATS, BEDS_ALONE):
        raise InputError(f"{form}: formats are {', '.join((*FORMATS, BEDS_ALONE))}")
    if form == BEDS_ALONE:
        contents, left_out = {"beds.gpx": _beds(path)}, list[str]()
    else:
        contents, left_out = _everything(path, form)
    try:
        make_folder(folder)
    except FileExistsError:
        raise InputError(f"{folder}: is a file; name a folder to write into") from None
    except OSError as err:
        raise InputError(f"{folder}: cannot be made ({err.strerror})") from err
    write_all_whole({folder / name: c for name, c in contents.items()}, overwrite=overwrite)
    return [folder / name for name in contents], left_out


def _everything(path: Path, form: str) -> tuple[dict[str, Content], list[str]]:
    """The content of a file for each table and of the manifest, by name; what is left out."""
    with reading(path) as db:
        tables, left_out = _tables(db), foreign_tables(db)
        (forms,) = db.execute("SELECT count(*) FROM season_migrations").fetchone()
    contents: dict[str, Content] = {}
    for table in tables:
        try:
            contents[f"{table.name}.{form}"] = _WRITERS[form](table)
        except (ValueError, TypeError, AttributeError) as err:  # taken as it is with --accept
            why = f"the table {table.name} holds what does not belong there"
            raise damaged(path, why) from err
    manifest = {
        "form": _FORM,
        "version": forms,
        "format": form,
        "tables": [t.name for t in tables],
        "files": hashes(contents),
    }
    # last: until it is in place the one before does not fit the files, and import says so
    contents[MANIFEST] = sealed(json.dumps(manifest, indent=1))
    return contents, left_out


def _beds(path: Path) -> Content:
    from ..io.gpx_beds import gpx_of_beds

    with reading(path) as db:
        beds = beds_laid_out(db)
    if not beds:
        raise SeasonError(f"{path}: no bed is laid out yet; groundtruth season add records a run")
    return gpx_of_beds(beds)


def import_season(folder: Path, path: Path, *, unchecked: bool = False) -> int:
    """Make a new record from exported files; returns the number of runs.

    The record is made beside its place and put there when all of it is in: a refusal or a crash
    leaves nothing behind that counts. ``unchecked`` takes files that are not as the export left
    them.

    Raises
    ------
    SeasonError : there is a record at ``path`` already, or the files do not fit together.
    InputError : a file is missing, damaged, or of another export.
    """
    manifest = _manifest(folder)
    with (
        new_record(path) as part,
        writing(part, upto=manifest["version"], journal=False) as db,
    ):
        return _filled(db, folder, manifest, unchecked=unchecked)


def _filled(
    db: sqlite3.Connection, folder: Path, manifest: dict[str, Any], *, unchecked: bool
) -> int:
    """Put the rows of all files into a new record; returns the number of runs."""
    form = manifest["format"]
    db.execute("PRAGMA defer_foreign_keys = ON")
    db.execute("DELETE FROM season_migrations")
    for name, columns in _exported(manifest["version"]).items():
        if name not in manifest["tables"]:
            raise InputError(f"{folder / MANIFEST}: lacks the table {name}")
        file = folder / f"{name}.{form}"
        source = load(file, error=InputError, what="file of the export", limit=MAX_TRACK_BYTES)
        if not unchecked and manifest["files"].get(file.name) != source.file.sha256:
            raise InputError(
                f"{file}: is not as the export in this folder left it; export again, or take the "
                "files as they are with --unchecked"
            )
        try:
            rows = _READERS[form](source.data, ExportTable(name, columns, []))
        except (ValueError, KeyError, TypeError, IndexError, OSError, csv.Error) as err:
            why = visible(str(err).partition("\n")[0], 120)
            raise InputError(f"{file}: is damaged or was changed ({why})") from err
        names = ", ".join(c for c, _ in columns)
        marks = ", ".join("?" * len(columns))
        try:
            db.executemany(f"INSERT INTO {name} ({names}) VALUES ({marks})", rows)
        except OverflowError as err:
            raise InputError(f"{file}: is damaged or was changed (a number is too large)") from err
        except UnicodeEncodeError as err:
            raise InputError(f"{file}: is damaged or was changed (half a character)") from err
    broken = db.execute("PRAGMA foreign_key_check").fetchone()
    if broken:
        raise InputError(f"{folder}: a row of {broken[0]} points to a row that is not there")
    try:
        migrate(db)
        for refused in refused_rows(db):
            raise refused
    except ValueRefused as err:
        place = f"{folder / err.table}.{form}: row {err.row}"
        raise InputError(f"{place}: {visible(err.why, 200)}") from err
    touch(db)
    (runs,) = db.execute("SELECT count(*) FROM runs").fetchone()
    return int(runs)


def _manifest(folder: Path) -> dict[str, Any]:
    file = folder / MANIFEST
    source = load(file, error=InputError, what="manifest of an export", limit=MAX_MANIFEST_BYTES)
    try:
        manifest = parse_json(source.data.decode("utf-8"))
        known = manifest["form"] == _FORM and manifest["format"] in FORMATS
        version, tables = manifest["version"], manifest["tables"]
        known = known and type(version) is int and isinstance(tables, list)
        known = known and isinstance(manifest.setdefault("files", {}), dict)
    except (ValueError, KeyError, TypeError) as err:
        raise InputError(f"{file}: is no manifest of an export") from err
    if not known:
        raise InputError(f"{file}: is no manifest of an export")
    if not 1 <= version <= NEWEST:
        raise InputError(f"{file}: was written by a later groundtruth; update groundtruth")
    return dict(manifest)


def _exported(version: int) -> dict[str, Columns]:
    """The tables that an export holds: checksums belong to one file."""
    return {name: cols for name, cols in columns_of(version).items() if name != CHECKSUMS}


def _tables(db: sqlite3.Connection) -> list[ExportTable]:
    """Our own tables; what other programs have put beside them stays out."""
    return [
        ExportTable(
            name,
            columns,
            db.execute(
                f"SELECT {', '.join(c for c, _ in columns)} FROM {name} ORDER BY id"
            ).fetchall(),
        )
        for name, columns in _exported(NEWEST).items()
    ]


_WRITERS: dict[str, Callable[[ExportTable], str | bytes]] = {
    "csv": csv_text,
    "geojson": geojson_text,
    "parquet": parquet_bytes,
}
_READERS: dict[str, Callable[[bytes, ExportTable], list[tuple[Any, ...]]]] = {
    "csv": rows_of_csv,
    "geojson": rows_of_geojson,
    "parquet": read_parquet,
}
