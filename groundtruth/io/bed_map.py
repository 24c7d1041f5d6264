"""Read the grower's own map of beds: GeoJSON, GeoPackage or CSV.

A bed is a line along its middle or a polygon about it, in longitude and latitude on WGS 84, with a
name and perhaps a block. CSV: `name,block,start_longitude,start_latitude,end_longitude,
end_latitude[,width]`.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Sequence
from contextlib import closing
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from ..core.beds import LonLat, MapBed
from ..core.errors import InputError
from ..core.safe_text import clean
from .bounded_json import parse_json
from .database import FileExchanged, connect_file
from .files import (
    MAX_SHEET_BYTES,
    MAX_TRACK_BYTES,
    FileInput,
    Source,
    load,
    looked_at,
    shown_name,
)
from .geopackage import from_blob, from_geojson, line
from .sheets.rows import read_rows

if TYPE_CHECKING:
    from shapely import Polygon

    from .geopackage import Shape

_NAME_KEYS = ("name", "bed", "label", "id", "fid")
_BLOCK_KEYS = ("block", "field", "plot")
_DRAW = "draw each bed as one line or one polygon"
MOST_BEDS = 20_000
STEPS, MOST_STEPS = 10_000, 50_000_000
"""Of SQLite's machine; a map of 20,000 beds takes a million."""

Refusal = Callable[[str], InputError]
"""The error that says where in the file a bed cannot be used."""


def read_beds(beds: FileInput) -> list[MapBed]:
    """The beds of a map.

    Raises
    ------
    InputError : the file cannot be read, or a bed has no name or no usable shape.
    """
    name = shown_name(beds)
    suffix = Path(name).suffix.lower()
    if suffix in (".geojson", ".json"):
        found = _of_geojson(beds)
    elif suffix == ".gpkg":
        found = _of_geopackage(beds, name)
    elif suffix in (".csv", ".txt", ".tsv"):
        found = _of_csv(beds)
    else:
        raise InputError("give a map of beds as .geojson, .gpkg or .csv", file=name)
    if not found:
        raise InputError("holds no bed", file=name)
    _check_number(len(found), name)
    return found


def _check_number(beds: int, file: str) -> None:
    if beds > MOST_BEDS:
        raise InputError(f"more than {MOST_BEDS} beds; split the map", file=file)


def _of_csv(sheet: FileInput) -> list[MapBed]:
    ends = ("start_longitude", "start_latitude", "end_longitude", "end_latitude")
    found = []
    for row in read_rows(
        sheet, what="map of beds", required=("name", *ends), optional=("block", "width")
    ):
        lon1, lat1, lon2, lat2 = (row.number(e) for e in ends)
        if lon1 is None or lat1 is None or lon2 is None or lat2 is None:
            raise row.fail("a bed needs both ends in degrees")
        middle, width = line([(lon1, lat1), (lon2, lat2)]), row.length_m("width")
        found.append(_bed(row.fail, row.text("name"), row.text("block"), middle, width_m=width))
    return found


def _of_geojson(given: FileInput) -> list[MapBed]:
    source = load(given, error=InputError, what="map of beds", limit=MAX_SHEET_BYTES)
    try:
        features = parse_json(source.data.decode("utf-8-sig"))["features"]
        if not isinstance(features, list):
            raise TypeError
    except (ValueError, KeyError, TypeError):
        raise InputError("is no GeoJSON FeatureCollection", file=source.name) from None
    _check_number(len(features), source.name)
    found = []
    for number, feature in enumerate(features, start=1):
        fail = _refusal(source.name, f"feature {number}")
        try:
            shape, values = from_geojson(feature["geometry"]), feature.get("properties") or {}
            if not isinstance(values, dict):
                raise TypeError
        except ValueError as err:
            raise fail(f"is {err}; {_DRAW}") from None
        except (KeyError, TypeError, AttributeError):
            raise fail(f"is no GeoJSON feature; {_DRAW}") from None
        found.append(_bed(fail, _first(values, _NAME_KEYS), _first(values, _BLOCK_KEYS), shape))
    return found


def _refusal(file: str, where: str) -> Refusal:
    return lambda reason: InputError(f"{where}: {reason}", file=file)


def _of_geopackage(given: FileInput, file: str) -> list[MapBed]:
    found: list[MapBed] = []
    try:
        with closing(_database(given, file)) as db:
            layers = db.execute(
                "SELECT g.table_name, g.column_name, s.organization, s.organization_coordsys_id"
                " FROM gpkg_geometry_columns g JOIN gpkg_spatial_ref_sys s USING (srs_id)"
                " WHERE g.geometry_type_name IN ('LINESTRING', 'POLYGON', 'MULTILINESTRING',"
                " 'MULTIPOLYGON', 'GEOMETRY')"
            ).fetchall()
            for layer, column, organization, code in layers:
                if not isinstance(layer, str) or not isinstance(column, str):
                    raise InputError("names a layer or column that is no text", file=file)
                called = clean(layer, 40)
                if (str(organization).upper(), code) != ("EPSG", 4326):
                    raise InputError(
                        f"layer {called} is in {clean(str(organization), 20)}:"
                        f"{clean(str(code), 20)}; save it in EPSG:4326 (longitude and latitude)",
                        file=file,
                    )
                quoted = '"' + layer.replace('"', '""') + '"'
                rows = db.execute(f"SELECT * FROM {quoted}")
                # names of columns do not tell capitals apart [SQLite, "Keywords"; from memory]
                names = [str(d[0]).lower() for d in rows.description]
                if column.lower() not in names:
                    raise InputError(
                        f"layer {called} has no column {clean(column, 40)}; save it again from the "
                        "map program",
                        file=file,
                    )
                for number, row in enumerate(rows, start=1):
                    fail = _refusal(file, f"{called}, feature {number}")
                    _check_number(len(found) + 1, file)
                    values = dict(zip(names, row, strict=True))
                    try:
                        shape = from_blob(values.pop(column.lower()))
                    except ValueError as err:
                        raise fail(f"is {err}; {_DRAW}") from None
                    block = _first(values, _BLOCK_KEYS)
                    found.append(_bed(fail, _first(values, _NAME_KEYS), block, shape))
    except (sqlite3.Error, OverflowError, UnicodeError) as err:
        why = "reading it takes too long" if "interrupted" in str(err) else clean(str(err), 120)
        raise InputError(f"is no readable GeoPackage ({why})", file=file) from err
    return found


def _database(given: FileInput, file: str) -> sqlite3.Connection:
    """The file opened for reading, with what a map program has not yet written into its main part;
    or handed over as bytes."""
    if isinstance(given, Source):
        source = load(given, error=InputError, what="map of beds", limit=MAX_TRACK_BYTES)
        db = sqlite3.connect(":memory:")
        # bytes 18, 19: without a write-ahead log, which is not at hand [SQLite file format, 1.3.3]
        db.deserialize(source.data[:18] + b"\x01\x01" + source.data[20:])
    else:
        place = Path(given)
        try:
            if (found := looked_at(place, 1)) is None:
                raise InputError("is a device or pipe; name a map of beds", file=file)
            db = connect_file(place, "ro", found[1])
        except FileExchanged:
            raise InputError("was replaced while it was opened; try again", file=file) from None
        except (OSError, ValueError) as err:
            if isinstance(err, InputError):
                raise
            raise InputError("there is no such file", file=file) from err
    # a layer may be a view, and a view may have no end
    db.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, MAX_SHEET_BYTES)
    db.set_progress_handler(_Patience(), STEPS)
    return db


class _Patience:
    """Ends a query that goes on and on."""

    def __init__(self) -> None:
        self._left = MOST_STEPS // STEPS

    def __call__(self) -> bool:
        self._left -= 1
        return self._left < 0


def _first(values: dict[str, Any], keys: Sequence[str]) -> str:
    lower = {str(k).lower(): v for k, v in values.items()}
    for key in keys:
        value = lower.get(key)
        known = type(value) in (str, int) or (isinstance(value, float) and isfinite(value))
        if known and (name := clean(str(value)[:200], 60)):
            return name
    return ""


def _bed(
    fail: Refusal, name: str, block: str, shape: Shape, *, width_m: float | None = None
) -> MapBed:
    import shapely

    if not name:
        raise fail("the bed has no name")
    positions = shapely.get_coordinates(shape)
    if not (abs(positions) <= (180, 90)).all():
        raise fail(f"bed {name}: positions must be longitude and latitude in degrees")
    if shape.geom_type == "Polygon":
        try:
            ends, width_m = _middle_line(cast("Polygon", shape))
        except ValueError as err:
            raise fail(f"bed {name} {err}") from None
    else:
        (lon1, lat1), (lon2, lat2) = positions[[0, -1]].tolist()
        ends = (lon1, lat1), (lon2, lat2)
    if ends[0] == ends[1]:
        raise fail(f"bed {name} has no length")
    return MapBed(name=name, block=block, ends=ends, width_m=width_m)


def _middle_line(bed: Polygon) -> tuple[tuple[LonLat, LonLat], float]:
    """The ends of the line through the middle of the rectangle about a polygon, and its width (m).

    The rectangle of least area [H. Freeman & R. Shapira 1975, Comm. ACM 18:409, from memory], in
    metres, so that a bed drawn by hand with many corners is measured along its whole length.

    Raises
    ------
    ValueError : the polygon has no area.
    """
    import numpy as np
    from shapely import Polygon, oriented_envelope

    from ..core.plane import Plane

    lon, lat = np.array(bed.exterior.coords).T
    # one plane for all beds of a farm: at most 6 km from its middle the scale is off by 4e-7
    plane = Plane(longitude_deg=round(float(lon[0]), 1), latitude_deg=round(float(lat[0]), 1))
    around = oriented_envelope(Polygon(np.column_stack(plane.to_metres(lon, lat))))
    if around.geom_type != "Polygon":  # all corners on one line
        raise ValueError("has no area")
    a, b, c, d = np.array(around.exterior.coords)[:4]
    if np.hypot(*(b - a)) > np.hypot(*(c - b)):
        a, b, c, d = b, c, d, a
    middles = np.array([(a + b) / 2, (c + d) / 2])
    (lon1, lon2), (lat1, lat2) = plane.to_degrees(*middles.T)
    ends = (float(lon1), float(lat1)), (float(lon2), float(lat2))
    return ends, float(np.hypot(*(b - a)))
