"""Read the grower's own map of beds: GeoJSON, GeoPackage or CSV.

A bed is a line along its middle or a polygon about it, in longitude and latitude on WGS 84, with a
name and perhaps a block. CSV: `name,block,start_longitude,start_latitude,end_longitude,
end_latitude[,width]`.
"""

from __future__ import annotations

import json
import sqlite3
import struct
from collections.abc import Sequence
from contextlib import closing
from math import cos, hypot, radians
from os import PathLike
from pathlib import Path
from typing import Any

from ..core.beds import MapBed
from ..core.errors import InputError
from ..core.safe_text import clean
from .files import MAX_SHEET_BYTES, load
from .sheets.rows import read_rows

LonLat = tuple[float, float]

_NAME_KEYS = ("name", "bed", "label", "id", "fid")
_BLOCK_KEYS = ("block", "field", "plot")
_METRES_PER_DEGREE = 111_320.0
"""Of latitude; good to 0.6 %, for the middle line of a bed."""
MOST_BEDS = 20_000


def read_beds(path: str | PathLike[str]) -> list[MapBed]:
    """The beds of a map.

    Raises
    ------
    InputError : the file cannot be read, or a bed has no name or no usable shape.
    """
    place = Path(path)
    suffix = place.suffix.lower()
    if suffix in (".geojson", ".json"):
        beds = _of_geojson(place)
    elif suffix == ".gpkg":
        beds = _of_geopackage(place)
    elif suffix in (".csv", ".txt", ".tsv"):
        beds = _of_csv(place)
    else:
        raise InputError(f"{place.name}: give a map of beds as .geojson, .gpkg or .csv")
    if not beds:
        raise InputError(f"{place.name}: holds no bed")
    if len(beds) > MOST_BEDS:
        raise InputError(f"{place.name}: {len(beds)} beds; up to {MOST_BEDS} are read")
    return beds


def _of_csv(place: Path) -> list[MapBed]:
    ends = ("start_longitude", "start_latitude", "end_longitude", "end_latitude")
    found = []
    for row in read_rows(
        place, what="map of beds", required=("name", *ends), optional=("block", "width")
    ):
        lon1, lat1, lon2, lat2 = (row.number(e) for e in ends)
        if lon1 is None or lat1 is None or lon2 is None or lat2 is None:
            raise row.fail("a bed needs both ends in degrees")
        found.append(
            _bed(
                f"{row.file}, line {row.line}",
                row.text("name"),
                row.text("block"),
                [(lon1, lat1), (lon2, lat2)],
                width_m=row.length_m("width"),
            )
        )
    return found


def _of_geojson(place: Path) -> list[MapBed]:
    source = load(place, error=InputError, what="map of beds", limit=MAX_SHEET_BYTES)
    try:
        features = json.loads(source.data.decode("utf-8-sig"))["features"]
        if not isinstance(features, list):
            raise TypeError
    except (ValueError, KeyError, TypeError, RecursionError):
        raise InputError(f"{source.name}: is no GeoJSON FeatureCollection") from None
    found = []
    for number, feature in enumerate(features, start=1):
        where = f"{source.name}, feature {number}"
        try:
            shape, named = feature["geometry"], feature.get("properties") or {}
            kind, at = shape["type"], shape["coordinates"]
            if kind.startswith("Multi") and len(at) == 1:
                kind, at = kind.removeprefix("Multi"), at[0]
            points = at[0] if kind == "Polygon" else at
            pairs = [(float(p[0]), float(p[1])) for p in points]
        except (KeyError, TypeError, ValueError, IndexError, AttributeError):
            raise InputError(f"{where}: a bed needs a LineString or a Polygon") from None
        if kind not in ("LineString", "Polygon"):
            raise InputError(f"{where}: is a {clean(str(kind), 30)}; draw a line or a polygon")
        found.append(
            _bed(where, _first(named, _NAME_KEYS), _first(named, _BLOCK_KEYS), pairs,
                 polygon=kind == "Polygon")
        )  # fmt: skip
    return found


def _of_geopackage(place: Path) -> list[MapBed]:
    if not place.is_file():
        raise InputError(f"{place.name}: there is no such file")
    found: list[MapBed] = []
    try:
        with closing(sqlite3.connect(f"{place.absolute().as_uri()}?mode=ro", uri=True)) as db:
            layers = db.execute(
                "SELECT g.table_name, g.column_name, s.organization, s.organization_coordsys_id"
                " FROM gpkg_geometry_columns g JOIN gpkg_spatial_ref_sys s USING (srs_id)"
                " WHERE g.geometry_type_name IN ('LINESTRING', 'POLYGON', 'MULTILINESTRING',"
                " 'MULTIPOLYGON', 'GEOMETRY')"
            ).fetchall()
            for layer, column, organization, code in layers:
                if (str(organization).upper(), code) != ("EPSG", 4326):
                    raise InputError(
                        f"{place.name}: layer {clean(layer, 40)} is in {organization}:{code}; "
                        "save it in EPSG:4326 (longitude and latitude)"
                    )
                quoted = '"' + layer.replace('"', '""') + '"'
                rows = db.execute(f"SELECT * FROM {quoted}")
                names = [d[0] for d in rows.description]
                for number, row in enumerate(rows, start=1):
                    where = f"{place.name}, {clean(layer, 40)}, feature {number}"
                    values = dict(zip(names, row, strict=True))
                    pairs, polygon = _wkb(values.pop(column), where)
                    block = _first(values, _BLOCK_KEYS)
                    found.append(
                        _bed(where, _first(values, _NAME_KEYS), block, pairs, polygon=polygon)
                    )
    except sqlite3.Error as err:
        raise InputError(f"{place.name}: is no readable GeoPackage ({err})") from err
    return found


_ENVELOPES = {0: 0, 1: 32, 2: 48, 3: 48, 4: 64}


def _wkb(blob: Any, where: str) -> tuple[list[LonLat], bool]:
    """Points of a line or of a polygon's outer ring, from any GeoPackage blob of one part."""
    try:
        flags = blob[3]
        at = 8 + _ENVELOPES[(flags >> 1) & 7]
        while True:
            order = "<" if blob[at] == 1 else ">"
            (code,) = struct.unpack_from(f"{order}I", blob, at + 1)
            at += 5
            kind, size = code % 1000, 2 + (code // 1000 in (1, 2)) + 2 * (code // 1000 == 3)
            if kind not in (5, 6):
                break
            (parts,) = struct.unpack_from(f"{order}I", blob, at)
            if parts != 1:
                raise ValueError
            at += 4
        if kind not in (2, 3):
            raise ValueError
        at += 4 * (kind == 3)
        (count,) = struct.unpack_from(f"{order}I", blob, at)
        values = struct.unpack_from(f"{order}{count * size}d", blob, at + 4)
    except (struct.error, ValueError, KeyError, TypeError, IndexError):
        raise InputError(f"{where}: a bed needs one line or one polygon") from None
    return [(values[i], values[i + 1]) for i in range(0, len(values), size)], kind == 3


def _first(values: dict[str, Any], keys: Sequence[str]) -> str:
    lower = {str(k).lower(): v for k, v in values.items()}
    for key in keys:
        if lower.get(key) not in (None, ""):
            return clean(str(lower[key]), 60)
    return ""


def _bed(
    where: str,
    name: str,
    block: str,
    points: Sequence[LonLat],
    *,
    polygon: bool = False,
    width_m: float | None = None,
) -> MapBed:
    if not name:
        raise InputError(f"{where}: the bed has no name")
    if len(points) < 2 or not all(abs(lon) <= 180 and abs(lat) <= 90 for lon, lat in points):
        raise InputError(f"{where}: bed {name}: places must be longitude and latitude in degrees")
    ends, width = _middle_line(points) if polygon else ((points[0], points[-1]), width_m)
    if ends[0] == ends[1]:
        raise InputError(f"{where}: bed {name} has no length")
    return MapBed(name=name, block=block, ends=ends, width_m=width)


def _middle_line(ring: Sequence[LonLat]) -> tuple[tuple[LonLat, LonLat], float]:
    """Ends of the line through the middle of a polygon along its longest side, and its width."""
    lon0, lat0 = ring[0]
    east = _METRES_PER_DEGREE * cos(radians(lat0))
    xy = [((lon - lon0) * east, (lat - lat0) * _METRES_PER_DEGREE) for lon, lat in ring]
    sides = [(b[0] - a[0], b[1] - a[1]) for a, b in zip(xy, [*xy[1:], xy[0]], strict=True)]
    ux, uy = max(sides, key=lambda s: hypot(*s))
    size = hypot(ux, uy) or 1.0
    ux, uy = ux / size, uy / size
    along = [x * ux + y * uy for x, y in xy]
    across = [y * ux - x * uy for x, y in xy]
    middle, width = (min(across) + max(across)) / 2, max(across) - min(across)

    def place(a: float) -> LonLat:
        x, y = a * ux - middle * uy, a * uy + middle * ux
        return lon0 + x / east, lat0 + y / _METRES_PER_DEGREE

    return (place(min(along)), place(max(along))), width
