"""Rows of a record that hold what no answer may rest on, found without asking for the answers."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator

from ..core.errors import GroundtruthError
from ..core.safe_text import visible
from ..io.result_json import result_from_json
from .bed_tables import TABLES
from .columns import refused_values
from .packing import unpack
from .refusals import ValueRefused


def refused_rows(db: sqlite3.Connection) -> Iterator[ValueRefused]:
    """A refusal for each row whose values are of another kind, or out of their bounds
    (`core.bounds`); whole results are read too."""
    for table in TABLES:
        yield from refused_values(db, table)
    for row_id, packed in db.execute("SELECT id, json_zlib FROM results ORDER BY id"):
        try:
            result_from_json(unpack(packed), "result")
        except (ValueError, GroundtruthError) as err:
            yield ValueRefused("results", row_id, visible(str(err), 200))
