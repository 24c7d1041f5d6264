"""What a file is, told by its first bytes; names and endings are not trusted."""

from __future__ import annotations

import re
from typing import Literal

from ..decoding import decode_latin, encoding_of

Kind = Literal[
    "gpx", "kml", "xml", "html", "geojson", "nmea", "csv", "gzip", "zip", "binary", "empty"
]
HEAD_BYTES = 65_536
_ROOT = re.compile(r"<(?:[A-Za-z_][\w.-]*:)?([A-Za-z_][\w.-]*)")
_NMEA = re.compile(r"[$][A-Z]{2}(?:RMC|GGA|VTG|GSA|GSV|GLL|GNS|ZDA|GST|TXT),")
_HTML = frozenset(("html", "head", "body", "script", "title"))


def sniff(head: bytes) -> Kind:
    """Kind of a file from its first bytes (`HEAD_BYTES` of them are enough)."""
    if head.startswith(b"\x1f\x8b"):
        return "gzip"
    if head.startswith((b"PK\x03\x04", b"PK\x05\x06")):
        return "zip"
    encoding = encoding_of(head)
    text = head.decode(encoding, errors="ignore") if encoding else decode_latin(head)
    text = text.lstrip("\ufeffï»¿ \t\r\n\0\x1e")  # \x1e begins JSON texts [RFC 8142]
    if not text:
        return "empty"
    if text.startswith("<"):
        return _markup(text)
    if text.startswith(("{", "[")):
        return "geojson"
    if _NMEA.search(text):
        return "nmea"
    if "\0" in text[:1000] or sum(text[:1000].count(chr(code)) for code in range(1, 9)) > 2:
        return "binary"
    begin = _ROOT.search(text)
    if begin and begin[1].lower() in ("gpx", "kml") and begin.start() < 1000:
        return _markup(text[begin.start() :])
    return "csv"


def _markup(text: str) -> Kind:
    plain = re.sub(r"(?s)<!--.*?(-->|$)|<\?.*?(\?>|$)", "", text)
    if re.match(r"(?i)\s*<!doctype\s+html", plain):
        return "html"
    root = _ROOT.search(plain)
    name = root[1].lower() if root else ""
    if name in ("gpx", "kml"):
        return "gpx" if name == "gpx" else "kml"
    return "html" if name in _HTML else "xml"
