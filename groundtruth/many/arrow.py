"""Rows as tables of Arrow: in bytes on their way, as Parquet where they stay."""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from typing import Any, Literal

from ..fleet.columns import Row, pass_schema, run_schema

Table = Any
"""A `pyarrow.Table`, which ships no type information."""
Kind = Literal["runs", "passes"]


def schema_of(kind: Kind) -> Any:
    """The columns of runs or passes."""
    return run_schema() if kind == "runs" else pass_schema()


def stream_of(rows: Sequence[Row], kind: Kind) -> bytes:
    """Rows as an Arrow stream [Apache Arrow, "IPC Streaming Format"]."""
    import pyarrow as pa

    table = pa.Table.from_pylist(list(rows), schema=schema_of(kind))
    out = io.BytesIO()
    with pa.ipc.new_stream(out, table.schema) as stream:
        stream.write_table(table)
    return out.getvalue()


def table_of(data: bytes, kind: Kind) -> Table:
    """The rows of `stream_of`, with the columns of today."""
    import pyarrow as pa

    with pa.ipc.open_stream(data) as stream:
        return _with_columns_of_today(stream.read_all(), kind)


def table_in(data: bytes, kind: Kind, *, without: Iterable[str] = ()) -> Table:
    """The rows of a Parquet file but for those of some runs, with the columns of today.

    Raises
    ------
    ValueError : it is no Parquet file, or has other columns.
    """
    import pyarrow as pa
    import pyarrow.compute as pc
    import pyarrow.parquet as pq

    table = _with_columns_of_today(pq.read_table(pa.BufferReader(data)), kind)
    gone = pa.array(sorted(without), type=pa.string())
    return table.filter(pc.invert(pc.is_in(table["run_key"], value_set=gone)))


def in_order(tables: Sequence[Table], kind: Kind) -> Table:
    """All rows of some tables in the order of their runs, and of their passes in these."""
    import pyarrow as pa

    order = ["source", "run_key"] if kind == "runs" else ["run_key", "number"]
    table = pa.concat_tables(tables) if tables else schema_of(kind).empty_table()
    return table.sort_by([(name, "ascending") for name in order]).combine_chunks()


def _with_columns_of_today(table: Table, kind: Kind) -> Table:
    """A column that an earlier version did not write is null, one that is no more is left out."""
    import pyarrow as pa

    schema = schema_of(kind)
    there = set(table.column_names)
    columns = [
        table[field.name].cast(field.type)
        if field.name in there
        else pa.nulls(len(table), field.type)
        for field in schema
    ]
    return pa.table(columns, schema=schema)
