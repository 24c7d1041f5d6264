"""Geometries as a GeoPackage stores them, and as well-known text, without loss.

A GeoPackage blob is a header with the reference system and an envelope, followed by well-known
binary [OGC 12-128r19, 2.1.3; OGC 06-103r4, 8.2]. Positions are longitude and latitude in degrees on
WGS 84. shapely is imported where a geometry is read or made.
"""

from __future__ import annotations

import struct
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any, TypeAlias, cast

from ..core.beds import LonLat

if TYPE_CHECKING:
    from shapely import LineString, Polygon

Shape: TypeAlias = "LineString | Polygon"

WGS84_SRS = 4326
_ENVELOPE_XY = 0b0000_0011  # little endian, envelope [min x, max x, min y, max y]
_ENVELOPE_BYTES = (0, 32, 48, 48, 64)
"""By the envelope code in bits 1 to 3 of the flags."""


def instant_text(time_s: float) -> str:
    """Seconds since 1970 UTC as a GeoPackage writes an instant, down to the millisecond begun
    [OGC 12-128r19, table 1: DATETIME is YYYY-MM-DDTHH:MM:SS.SSSZ].

    >>> instant_text(1_778_569_267.25)
    '2026-05-12T07:01:07.250Z'
    """
    instant = datetime.fromtimestamp(time_s, UTC)
    return instant.isoformat(timespec="milliseconds").replace("+00:00", "Z")


def line(positions: Sequence[LonLat]) -> LineString:
    """A line through positions in degrees."""
    from shapely import LineString

    return LineString(positions)


def to_blob(shape: Shape) -> bytes:
    """The GeoPackage blob of a geometry."""
    import shapely

    min_x, min_y, max_x, max_y = shape.bounds
    head = struct.pack("<2sBBi4d", b"GP", 0, _ENVELOPE_XY, WGS84_SRS, min_x, max_x, min_y, max_y)
    return head + bytes(shapely.to_wkb(shape, byte_order=1))


def wkb_of(blob: bytes) -> bytes:
    """The well-known binary in a GeoPackage blob, whichever program wrote it.

    Raises
    ------
    ValueError : it is no such blob.
    """
    if not isinstance(blob, bytes) or len(blob) < 8 or blob[:2] != b"GP":
        raise ValueError("no geometry of a GeoPackage")
    envelope = (blob[3] >> 1) & 7
    if envelope >= len(_ENVELOPE_BYTES):
        raise ValueError("an envelope of an unknown kind")
    return blob[8 + _ENVELOPE_BYTES[envelope] :]


def from_blob(blob: bytes) -> Shape:
    """The line or polygon in a GeoPackage blob; one of several parts where it has one only.

    Raises
    ------
    ValueError : the blob is damaged, or holds another kind of geometry.
    """
    return from_wkb(wkb_of(blob))


def from_wkb(wkb: bytes) -> Shape:
    """The line or polygon in well-known binary.

    Raises
    ------
    ValueError : it is damaged, or another kind of geometry.
    """
    import shapely

    try:
        found = shapely.from_wkb(wkb)
    except (shapely.errors.ShapelyError, TypeError) as err:
        raise ValueError("a damaged geometry") from err
    return _line_or_polygon(found)


def to_wkt(shape: Shape) -> str:
    """Well-known text with every digit, so that it reads back to the same numbers.

    shapely's own writer stops at 15 to 17 significant digits and moves most of them by a unit in
    the last place.
    """
    rings = [shape.exterior, *shape.interiors] if shape.geom_type == "Polygon" else [shape]
    parts = ["(" + ", ".join(f"{x!r} {y!r}" for x, y in r.coords) + ")" for r in rings]
    if shape.geom_type == "Polygon":
        return f"POLYGON ({', '.join(parts)})"
    return f"LINESTRING {parts[0]}"


def from_wkt(text: str) -> Shape:
    """The line or polygon in well-known text.

    Raises
    ------
    ValueError : it is no well-known text, or another kind of geometry.
    """
    import numpy as np
    import shapely

    try:
        with np.errstate(over="raise"):
            found = shapely.from_wkt(text)
    except (shapely.errors.ShapelyError, TypeError, FloatingPointError) as err:
        raise ValueError("no well-known text of a geometry") from err
    return _line_or_polygon(found)


def from_geojson(geometry: dict[str, Any]) -> Shape:
    """The line or polygon of a GeoJSON geometry [RFC 7946, 3.1].

    Raises
    ------
    ValueError : it is damaged, or another kind of geometry.
    """
    import shapely
    from shapely.geometry import shape

    try:
        found = shape(geometry)
    except (
        shapely.errors.ShapelyError,
        AttributeError,
        TypeError,
        ValueError,
        LookupError,
        OverflowError,
    ) as err:
        raise ValueError("no GeoJSON geometry") from err
    return _line_or_polygon(found)


def _line_or_polygon(found: Any) -> Shape:
    """In two dimensions, out of its collection if it is the only part."""
    import shapely

    parts = getattr(found, "geoms", None)
    if parts is not None and len(parts) == 1:
        found = parts[0]
    if found is None or found.is_empty:
        raise ValueError("an empty geometry")
    if found.geom_type not in ("LineString", "Polygon"):
        raise ValueError(f"a {found.geom_type}, neither a line nor a polygon")
    return cast("Shape", shapely.force_2d(found))
