"""What a track format is to the rest of the program, and the first look at an unknown file."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import tzinfo
from typing import Self

from ..decoding import decode_latin, encoding_of
from ..files import Source
from .raw_fixes import FixColumns

HEAD_BYTES = 65_536
_ELEMENT = re.compile(r"<(?:[A-Za-z_][\w.-]*:)?([A-Za-z_][\w.-]*)")
_NOT_ELEMENTS = re.compile(r"(?s)<!--.*?(-->|$)|<\?.*?(\?>|$)")
_HTML = re.compile(r"(?i)\s*<!doctype\s+html")
UNREADABLE = (
    "is no track file that can be read; export the recording as GPX (or KML, GeoJSON, NMEA, or "
    "CSV with the columns time,latitude,longitude)"
)
ROOT_WITHIN = 1000
"""So many stray characters may stand before the first element of a GPX or KML file."""


@dataclass(frozen=True, slots=True)
class Head:
    """The beginning of a file, in which each format looks for its own marks.

    ``text`` is decoded and has no blanks before it. ``root`` is the first element's name in small
    letters, without prefix, "" where the file is no markup. ``binary`` says that it is no text.
    """

    text: str
    root: str
    binary: bool

    @classmethod
    def of(cls, data: bytes) -> Self:
        """The head of a file with these bytes."""
        data = data[:HEAD_BYTES]
        encoding = encoding_of(data)
        text = data.decode(encoding, errors="ignore") if encoding else decode_latin(data)
        text = text.lstrip("\ufeffï»¿ \t\r\n\0\x1e")  # \x1e begins JSON texts [RFC 8142]
        if text.startswith("<"):
            return cls(text, _root(text), binary=False)
        begin = text[:1000]
        if "\0" in begin or sum(begin.count(chr(code)) for code in range(1, 9)) > 2:
            return cls(text, "", binary=True)
        found = _ELEMENT.search(text, 0, ROOT_WITHIN + 100)
        late = found and found.start() < ROOT_WITHIN and found[1].lower() in ("gpx", "kml")
        return cls(text, found[1].lower() if found and late and text[0] not in "{[" else "", False)


def _root(text: str) -> str:
    plain = _NOT_ELEMENTS.sub("", text)
    if _HTML.match(plain):
        return "html"
    found = _ELEMENT.search(plain)
    return found[1].lower() if found else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TrackFormat:
    """A format of track files: how it is recognised and read, and what docs/tracks.md says of it.

    ``recognises`` looks at the beginning of a file; ``read`` gives the fixes as they stand in it,
    with times without zone taken as of the clock given, and raises `TrackFileError`. ``told_by``
    and ``holds`` are the cells of the format's line in the table of formats (Markdown).
    """

    name: str
    recognises: Callable[[Head], bool]
    read: Callable[[Source, tzinfo | None], FixColumns]
    told_by: str
    holds: str
