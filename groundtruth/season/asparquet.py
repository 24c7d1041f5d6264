"""Tables of the record as Parquet files: GeoParquet 1.1.0 where there is a geometry."""

from __future__ import annotations

import io
import json
from collections.abc import Sequence
from typing import Any

from ..core.errors import InputError
from ..io.geopackage import Geometry, from_blob, to_blob
from .exporttable import GEOMETRY, ExportTable

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


def parquet_bytes(table: ExportTable) -> bytes:
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
            "primary_column": GEOMETRY,
            "columns": {
                GEOMETRY: {
                    "encoding": "WKB",
                    "geometry_types": ["LineString" if t == "Linestring" else t for t in types],
                }
            },
        }
        made = made.replace_schema_metadata({"geo": json.dumps(geo)})
    out = io.BytesIO()
    pa.parquet.write_table(made, out)
    return out.getvalue()


def read_parquet(data: bytes, table: ExportTable) -> list[tuple[Any, ...]]:
    pa = _arrow()
    made = pa.parquet.read_table(pa.BufferReader(data))
    columns: list[Sequence[Any]] = []
    for column, _ in table.columns:
        values = made.column(column).to_pylist()
        columns.append([_with_header(v) for v in values] if column == GEOMETRY else values)
    return list(zip(*columns, strict=True))


def _with_header(wkb: bytes) -> bytes:
    """Our blob again: the header holds nothing that the geometry does not."""
    head = to_blob(Geometry("LINESTRING", ((0.0, 0.0), (0.0, 0.0))))[:_GPKG_HEADER]
    return to_blob(from_blob(head + wkb))
