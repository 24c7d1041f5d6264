"""Texts packed into a column of the record, and unpacked no further than one of ours can go."""

from __future__ import annotations

import zlib

from ..io.files import MAX_RESULT_BYTES


def pack(text: str) -> bytes:
    """ASCII text packed with zlib [RFC 1950]."""
    return zlib.compress(text.encode("ascii"), 6)


def unpack(packed: object) -> str:
    """The text that `pack` packed.

    Raises
    ------
    ValueError : it is no such text, or unpacks to more than any of ours.
    """
    if not isinstance(packed, bytes):
        raise ValueError("no packed text")
    stream = zlib.decompressobj()
    try:
        data = stream.decompress(packed, MAX_RESULT_BYTES)
    except zlib.error as err:
        raise ValueError("a damaged packed text") from err
    if not stream.eof:
        raise ValueError("a packed text that is cut off or too large")
    return data.decode("ascii")
