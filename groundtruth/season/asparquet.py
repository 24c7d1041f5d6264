"""Tables of the record as Parquet files: GeoParquet 1.1.0 where there is a geometry."""

from __future__ import annotations

import io
import json
from collections.abc import Sequence
from typing import Any

from ..core.errors import InputError
from ..io.geopackage import from_blob, from_wkb, to_blob, wkb_of
from .exporttable import GEOMETRY, ExportTable

MOST_ROWS = 5_000_000


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
            values = [wkb_of(v) for v in values]
        columns.append(pa.array(values, type=kinds.get(kind, pa.string())))
    made = pa.table(columns, names=[c for c, _ in table.columns])
    if at is not None:
        types = sorted({from_blob(row[at]).geom_type for row in table.rows})
        geo = {
            "version": "1.1.0",
            "primary_column": GEOMETRY,
            "columns": {
                GEOMETRY: {
                    "encoding": "WKB",
                    "geometry_types": types,
                }
            },
        }
        made = made.replace_schema_metadata({"geo": json.dumps(geo)})
    out = io.BytesIO()
    pa.parquet.write_table(made, out)
    return out.getvalue()


def read_parquet(data: bytes, table: ExportTable) -> list[tuple[Any, ...]]:
    pa = _arrow()
    if pa.parquet.ParquetFile(pa.BufferReader(data)).metadata.num_rows > MOST_ROWS:
        raise ValueError(f"more than {MOST_ROWS:,} rows")
    made = pa.parquet.read_table(pa.BufferReader(data))
    columns: list[Sequence[Any]] = []
    for column, _ in table.columns:
        values = made.column(column).to_pylist()
        columns.append([to_blob(from_wkb(v)) for v in values] if column == GEOMETRY else values)
    return list(zip(*columns, strict=True))
