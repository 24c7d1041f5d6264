"""Bytes from any spreadsheet, phone or editor to text."""

from __future__ import annotations

import codecs
import re

from ..core.language import English

_BOMS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
WRONG_BYTE = re.compile("[\udc80-\udcff]")
"""A byte that the encoding does not know, as the error handler "surrogateescape" gives it."""


def encoding_of(head: bytes) -> str | None:
    """Encoding that a byte-order mark or zero bytes at every second place give away, else None."""
    for bom, encoding in _BOMS:
        if head.startswith(bom):
            return encoding
    if len(head) >= 4:
        if head[0] and not head[1] and head[2] and not head[3]:
            return "utf-16-le"
        if not head[0] and head[1] and not head[2] and head[3]:
            return "utf-16-be"
    return None


def decode(data: bytes) -> tuple[str, str]:
    """Text, and a remark where the bytes were not the UTF-8 or UTF-16 that they should be."""
    encoding = encoding_of(data)
    if encoding == "utf-8":
        data = data[len(codecs.BOM_UTF8) :]
    try:
        return data.decode(encoding or "utf-8").removeprefix("\ufeff"), ""
    except UnicodeDecodeError:
        if encoding and encoding != "utf-8":
            return data.decode(encoding, errors="replace"), English(
                "characters that cannot be read replaced"
            )
    return decode_latin(data), English("not UTF-8: read as Windows Latin")


def first_wrong_line(data: bytes) -> int:
    """The line of the first byte that is not the UTF-8 or UTF-16 it should be, 0 if all are."""
    encoding = encoding_of(data)
    try:
        data.decode(encoding or "utf-8")
    except UnicodeDecodeError as why:
        before = data[: why.start].decode(encoding or "utf-8", errors="ignore")
        return before.count("\n") + 1
    return 0


def decode_latin(data: bytes) -> str:
    """Windows code page 1252, with Latin-1 for the five bytes that it leaves undefined."""
    try:
        return data.decode("cp1252")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def latin_of(wrong: re.Match[str]) -> str:
    """A `WRONG_BYTE` read as Windows Latin."""
    return decode_latin(bytes([ord(wrong[0]) - 0xDC00]))
