"""The file of a shared row, and the rows that a fleet was given."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path

from ..core.errors import InputError
from ..core.origin import MOISTURES, TEXTURES
from ..io.files import FileInput, load
from ..io.json_document import document_in
from ..io.result_json.node import JsonNode
from ..io.writing import make_folder, write_whole
from .columns import parquet_of, run_schema
from .data_set import SHARED
from .shared_row import Cell, SharedRow, run_row_of

MAX_ROW_BYTES = 1 << 14
_KIND, _VERSION = "shared row", 1


def row_to_json(row: SharedRow) -> str:
    """The row as JSON text."""
    head = {"tool": "groundtruth", "kind": _KIND, "schema_version": _VERSION}
    return json.dumps(head | asdict(row), indent=2, allow_nan=False) + "\n"


def read_row(given: FileInput) -> SharedRow:
    """The row in a file.

    Raises
    ------
    InputError : the file cannot be read, is no such row, or a figure is out of its bounds.
    """
    source = load(given, error=InputError, what="shared row", limit=MAX_ROW_BYTES)
    return document_in(
        source,
        _row,
        kind=_KIND,
        version=_VERSION,
        another="give what groundtruth share wrote",
        renew="update groundtruth, or share the result again",
    )


def _row(node: JsonNode) -> SharedRow:
    def cell() -> Cell:
        inside = node.child("cell")
        names = ("south_deg", "west_deg", "size_deg")
        return Cell(**{name: inside.number(name) for name in names})

    def ratio(name: str) -> float | None:
        return node.maybe(name, lambda: node.number(name))

    return SharedRow(
        cell=node.maybe("cell", cell),
        week=node.text("week"),
        model=node.name_if_there("model"),
        tyre=node.name_if_there("tyre"),
        moisture=node.word_if_there("moisture", MOISTURES),
        texture=node.word_if_there("texture", TEXTURES),
        log_ratio_in_use=ratio("log_ratio_in_use"),
        log_ratio_rolled=ratio("log_ratio_rolled"),
        u=node.number("u"),
        passes=node.whole("passes"),
        version=node.name_if_there("version"),
    )


def add_rows(folder: Path, rows: Sequence[SharedRow]) -> int:
    """Put rows into the folder of a fleet, all in one file, and return how many were new.

    Raises
    ------
    InputError : there is no such folder, or it cannot be written to.
    """
    import pyarrow as pa  # type: ignore[import-untyped, import-not-found, unused-ignore]
    import pyarrow.parquet as pq  # type: ignore[import-untyped, import-not-found, unused-ignore]

    if not folder.is_dir():
        raise InputError(f"{folder}: there is no such folder; make the fleet first")
    into = folder / SHARED
    try:
        known = {
            key
            for file in into.glob("*.parquet")
            for key in pq.read_table(file, columns=["run_key"])["run_key"].to_pylist()
        }
    except (OSError, ValueError, pa.ArrowException) as error:
        raise InputError(f"{into}: holds a file that is no Parquet; remove it") from error
    new = {row["run_key"]: row for row in map(run_row_of, rows) if row["run_key"] not in known}
    if not new:
        return 0
    table = pa.Table.from_pylist(list(new.values()), schema=run_schema())
    try:
        make_folder(into)
    except OSError as error:
        raise InputError(f"{into}: cannot be made ({error.strerror})") from error
    name = hashlib.sha256("".join(sorted(new)).encode()).hexdigest()[:16]
    write_whole(into / f"part-{name}.parquet", parquet_of(table))
    return len(new)
