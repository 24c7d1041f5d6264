"""The whole record as CSV, GeoJSON or Parquet files, one for each table, and back without loss.

Numbers are written with every digit, geometries as well-known text (CSV), GeoJSON or well-known
binary (Parquet), packed bytes in base64 where the format is text. An empty CSV cell is null for a
number and "" for text, which is never null in the record.
"""

from __future__ import annotations

import csv
import io
import json
import os
import sqlite3
import tempfile
from base64 import b64decode, b64encode
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..errors import InputError
from ..writing import write_all_whole
from .geometry import Geometry, from_blob, from_wkt, to_blob, to_wkt
from .schema import MIGRATIONS
from .store import SeasonError, migrate, reading, writing

FORMATS = ("csv", "geojson", "parquet")
MANIFEST = "season.json"
_FORM = "groundtruth season export"
_ACTS_IN_A_SHEET = "=+-@'\t\r"
"""A spreadsheet takes a cell that begins so for a formula; a ' before it keeps it text."""
_GEOMETRY = "geom"


@dataclass(frozen=True, slots=True)
class _Table:
    name: str
    columns: tuple[tuple[str, str], ...]  # (name, declared type)
    rows: list[tuple[Any, ...]]

    @property
    def shape_at(self) -> int | None:
        names = [c for c, _ in self.columns]
        return names.index(_GEOMETRY) if _GEOMETRY in names else None


def export_season(path: Path, folder: Path, form: str) -> list[Path]:
    """Write every table of the record into ``folder``; returns the files.

    Raises
    ------
    SeasonError : the record cannot be read.
    InputError : the folder cannot be written to, the format is not known, or it is Parquet and
        pyarrow is not installed.
    """
    if form not in FORMATS:
        raise InputError(f"{form}: formats are {', '.join(FORMATS)}")
    with reading(path) as db:
        tables = _tables(db)
        (forms,) = db.execute("SELECT count(*) FROM season_migrations").fetchone()
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as err:
        raise InputError(f"{folder}: cannot be made ({err.strerror})") from err
    files = [folder / f"{t.name}.{form}" for t in tables]
    manifest = {"form": _FORM, "version": forms, "format": form, "tables": [t.name for t in tables]}
    texts = {}
    if form == "parquet":
        for table, file in zip(tables, files, strict=True):
            _write_parquet(table, file)
    else:
        write: Callable[[_Table], str] = _csv_text if form == "csv" else _geojson_text
        texts = {file: write(t) for t, file in zip(tables, files, strict=True)}
    write_all_whole({**texts, folder / MANIFEST: json.dumps(manifest, indent=1) + "\n"})
    return [*files, folder / MANIFEST]


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
        raise SeasonError(f"{path}: is there already; import into a new file")
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
        from .record import touch

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


def _tables(db: sqlite3.Connection) -> list[_Table]:
    names = [r[0] for r in db.execute("SELECT table_name FROM gpkg_contents ORDER BY rowid")]
    found = []
    for name in names:
        columns = tuple((row[1], row[2]) for row in db.execute(f"PRAGMA table_info({name})"))
        rows = db.execute(f"SELECT {', '.join(c for c, _ in columns)} FROM {name} ORDER BY id")
        found.append(_Table(name, columns, rows.fetchall()))
    return found


# CSV ---------------------------------------------------------------------------------------------


def _csv_text(table: _Table) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([c for c, _ in table.columns])
    for row in table.rows:
        writer.writerow([_cell(v, *c) for v, c in zip(row, table.columns, strict=True)])
    return out.getvalue()


def _cell(value: Any, column: str, kind: str) -> str:
    if value is None:
        return ""
    if column == _GEOMETRY:
        return to_wkt(from_blob(value))
    if kind == "BLOB":
        return b64encode(value).decode("ascii")
    if isinstance(value, float):
        return repr(value)
    text = str(value)
    return f"'{text}" if isinstance(value, str) and text[:1] in _ACTS_IN_A_SHEET and text else text


def _from_cell(text: str, column: str, kind: str) -> Any:
    if column == _GEOMETRY:
        return to_blob(from_wkt(text))
    if kind in ("TEXT", "DATE", "DATETIME"):
        return text.removeprefix("'")
    if text == "":
        return None
    if kind == "BLOB":
        return b64decode(text, validate=True)
    return float(text) if kind == "DOUBLE" else int(text)


def _read_csv(file: Path, table: _Table) -> list[tuple[Any, ...]]:
    csv.field_size_limit(1 << 30)
    with open(file, encoding="utf-8-sig", newline="") as lines:
        rows = csv.reader(lines)
        head = next(rows, [])
        if head != [c for c, _ in table.columns]:
            raise ValueError("the columns differ")
        return [
            tuple(_from_cell(v, *c) for v, c in zip(row, table.columns, strict=True))
            for row in rows
        ]


# GeoJSON -----------------------------------------------------------------------------------------


def _geojson_text(table: _Table) -> str:
    """A FeatureCollection [RFC 7946]; tables without geometry have features with a null one."""
    at = table.shape_at
    features = []
    for row in table.rows:
        shape = None if at is None else from_blob(row[at])
        properties = {
            column: b64encode(value).decode("ascii") if isinstance(value, bytes) else value
            for i, ((column, _), value) in enumerate(zip(table.columns, row, strict=True))
            if i != at
        }
        features.append(
            {
                "type": "Feature",
                "id": properties.pop("id"),
                "geometry": shape and _geojson_shape(shape),
                "properties": properties,
            }
        )
    body = ",\n".join(json.dumps(f, ensure_ascii=True, allow_nan=False) for f in features)
    return f'{{"type": "FeatureCollection", "features": [\n{body}\n]}}\n'


def _geojson_shape(shape: Geometry) -> dict[str, Any]:
    points = [list(p) for p in shape.points]
    if shape.kind == "POLYGON":
        return {"type": "Polygon", "coordinates": [points]}
    return {"type": "LineString", "coordinates": points}


def _read_geojson(file: Path, table: _Table) -> list[tuple[Any, ...]]:
    found = []
    for feature in json.loads(file.read_text(encoding="utf-8"))["features"]:
        values = {**feature["properties"], "id": feature["id"]}
        row: list[Any] = []
        for column, kind in table.columns:
            if column == _GEOMETRY:
                shape = feature["geometry"]
                polygon = shape["type"] == "Polygon"
                points = shape["coordinates"][0] if polygon else shape["coordinates"]
                pairs = tuple((float(p[0]), float(p[1])) for p in points)
                row.append(to_blob(Geometry("POLYGON" if polygon else "LINESTRING", pairs)))
            elif kind == "BLOB":
                row.append(b64decode(values[column], validate=True))
            elif kind == "DOUBLE" and values[column] is not None:
                row.append(float(values[column]))
            else:
                row.append(values[column])
        found.append(tuple(row))
    return found


# Parquet -----------------------------------------------------------------------------------------

_GPKG_HEADER = 8 + 32


def _arrow() -> Any:
    try:
        import pyarrow  # type: ignore[import-untyped, import-not-found, unused-ignore]
        import pyarrow.parquet  # type: ignore[import-untyped, import-not-found, unused-ignore]
    except ImportError as err:
        raise InputError(
            "Parquet needs the package pyarrow; install it with groundtruth[parquet]"
        ) from err
    return pyarrow


def _write_parquet(table: _Table, file: Path) -> None:
    """GeoParquet 1.1.0 where there is a geometry: well-known binary and the metadata key "geo"."""
    pa = _arrow()
    kinds = {"DOUBLE": pa.float64(), "INTEGER": pa.int64(), "BOOLEAN": pa.int64(),
             "BLOB": pa.binary()}  # fmt: skip
    at = table.shape_at
    columns = []
    for i, (_, kind) in enumerate(table.columns):
        values = [row[i] for row in table.rows]
        if i == at:
            values = [v[_GPKG_HEADER:] for v in values]
        columns.append(pa.array(values, type=kinds.get(kind, pa.string())))
    made = pa.table(columns, names=[c for c, _ in table.columns])
    if at is not None:
        types = sorted({from_blob(row[at]).kind.capitalize() for row in table.rows})
        geo = {
            "version": "1.1.0",
            "primary_column": _GEOMETRY,
            "columns": {
                _GEOMETRY: {
                    "encoding": "WKB",
                    "geometry_types": ["LineString" if t == "Linestring" else t for t in types],
                }
            },
        }
        made = made.replace_schema_metadata({"geo": json.dumps(geo)})
    handle, beside = tempfile.mkstemp(dir=file.parent, prefix=f".{file.name}.", suffix=".part")
    os.close(handle)
    try:
        pa.parquet.write_table(made, beside)
        os.replace(beside, file)
    except BaseException:
        Path(beside).unlink(missing_ok=True)
        raise


def _read_parquet(file: Path, table: _Table) -> list[tuple[Any, ...]]:
    pa = _arrow()
    if not file.exists():
        raise InputError(f"{file}: is missing")
    made = pa.parquet.read_table(file)
    columns: list[Sequence[Any]] = []
    for column, _ in table.columns:
        values = made.column(column).to_pylist()
        columns.append([_with_header(v) for v in values] if column == _GEOMETRY else values)
    return list(zip(*columns, strict=True))


def _with_header(wkb: bytes) -> bytes:
    """Our blob again: the header holds nothing that the geometry does not."""
    head = to_blob(Geometry("LINESTRING", ((0.0, 0.0), (0.0, 0.0))))[:_GPKG_HEADER]
    return to_blob(from_blob(head + wkb))


_READERS: dict[str, Callable[[Path, _Table], list[tuple[Any, ...]]]] = {
    "csv": _read_csv,
    "geojson": _read_geojson,
    "parquet": _read_parquet,
}
