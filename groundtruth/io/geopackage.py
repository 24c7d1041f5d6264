"""Geometries as a GeoPackage stores them, and as text, without loss.

A GeoPackage blob is a header with the reference system and an envelope, followed by well-known
binary [OGC 12-128r19, 2.1.3; OGC 06-103r4, 8.2].
"""

from __future__ import annotations

import struct
from dataclasses import dataclass

WGS84_SRS = 4326
_CODES = {"LINESTRING": 2, "POLYGON": 3}
_ENVELOPE_XY = 0b0000_0011  # little endian, envelope [min x, max x, min y, max y]
_HEADER = 8 + 32


@dataclass(frozen=True, slots=True)
class Geometry:
    """A line, or a polygon of one ring, in degrees (longitude first).

    ``kind`` is "LINESTRING" or "POLYGON".

    Raises
    ------
    ValueError : another kind, or fewer than two points.
    """

    kind: str
    points: tuple[tuple[float, float], ...]

    def __post_init__(self) -> None:
        if self.kind not in _CODES:
            raise ValueError(f"{self.kind} is no kind of geometry kept here")
        if len(self.points) < 2:
            raise ValueError("a geometry needs two points or more")


def to_blob(shape: Geometry) -> bytes:
    """The GeoPackage blob of a geometry."""
    lons, lats = zip(*shape.points, strict=True)
    box = (min(lons), max(lons), min(lats), max(lats))
    head = struct.pack("<2sBBi4d", b"GP", 0, _ENVELOPE_XY, WGS84_SRS, *box)
    counts = (1, len(shape.points)) if shape.kind == "POLYGON" else (len(shape.points),)
    body = struct.pack(f"<BI{len(counts)}I", 1, _CODES[shape.kind], *counts)
    return head + body + b"".join(struct.pack("<2d", *point) for point in shape.points)


def from_blob(blob: bytes) -> Geometry:
    """The geometry of a blob that `to_blob` wrote.

    Raises
    ------
    ValueError : it is none of ours.
    """
    try:
        start = struct.unpack_from("<2sBBi", blob)
        order, code = struct.unpack_from("<BI", blob, _HEADER)
        if start != (b"GP", 0, _ENVELOPE_XY, WGS84_SRS) or order != 1:
            raise ValueError("a geometry of another kind")
        kind = next((k for k, c in _CODES.items() if c == code), "")
        at = _HEADER + 5
        if kind == "POLYGON":
            (rings,) = struct.unpack_from("<I", blob, at)
            at += 4
            if rings != 1:
                raise ValueError("a polygon with holes")
        (count,) = struct.unpack_from("<I", blob, at)
        values = struct.unpack_from(f"<{count * 2}d", blob, at + 4)
    except struct.error as err:
        raise ValueError("a geometry cut short") from err
    return Geometry(kind, tuple(zip(values[::2], values[1::2], strict=True)))


def to_wkt(shape: Geometry) -> str:
    """Well-known text with every digit, so that it reads back to the same numbers."""
    body = ", ".join(f"{lon!r} {lat!r}" for lon, lat in shape.points)
    return f"{shape.kind} (({body}))" if shape.kind == "POLYGON" else f"{shape.kind} ({body})"


def from_wkt(text: str) -> Geometry:
    """The geometry of a text that `to_wkt` wrote.

    Raises
    ------
    ValueError : it is none of ours.
    """
    kind, _, body = text.partition("(")
    rows = [[float(v) for v in row.split()] for row in body.strip("() ").split(",")]
    if any(len(row) != 2 for row in rows):
        raise ValueError("points with another number of values")
    return Geometry(kind.strip(), tuple((row[0], row[1]) for row in rows))
