"""The functions that a spatial index in a GeoPackage calls.

A map program that indexes one of our layers leaves triggers in the file that call these whenever a
row is written [OGC 12-128r19, requirement 77 and table 46]. Without them the record could no longer
be written to.
"""

from __future__ import annotations

import sqlite3
import struct
from collections.abc import Callable

_EMPTY = 0b0001_0000
_BOX = ("ST_MinX", "ST_MaxX", "ST_MinY", "ST_MaxY")


def add_functions(db: sqlite3.Connection) -> None:
    """Make them known to a connection."""
    db.create_function("ST_IsEmpty", 1, _is_empty, deterministic=True)
    for at, name in enumerate(_BOX):
        db.create_function(name, 1, _side(at), deterministic=True)


def _is_empty(blob: bytes | None) -> int | None:
    return None if not _is_geometry(blob) or blob is None else int(bool(blob[3] & _EMPTY))


def _side(at: int) -> Callable[[bytes | None], float | None]:
    def side(blob: bytes | None) -> float | None:
        """From the envelope in the header, which every geometry of ours has."""
        if not _is_geometry(blob) or blob is None or not (blob[3] >> 1) & 7 or len(blob) < 40:
            return None
        value: float = struct.unpack_from("<d" if blob[3] & 1 else ">d", blob, 8 + 8 * at)[0]
        return value

    return side


def _is_geometry(blob: bytes | None) -> bool:
    return isinstance(blob, bytes) and len(blob) >= 8 and blob[:2] == b"GP"
