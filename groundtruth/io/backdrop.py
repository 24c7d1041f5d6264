"""Read what stands behind the maps from a grower's own file: GeoJSON [RFC 7946] or KML.

Lines and polygons are taken, with their names; points are left out. Much detail is left out too,
so that a map stays small (Douglas & Peucker 1973, Cartographica 10:112, by GEOS).
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from ..core.backdrop import Backdrop, BackdropShape
from ..core.beds import LonLat
from ..core.errors import InputError
from ..core.language import English
from ..core.safe_text import clean
from .backdrop_kml import kml_shapes
from .backdrop_shapes import FoundShape, ShapeRefusal
from .bounded_json import MAX_MEMORY, memory_of, parse_json
from .decoding import decode
from .files import MAX_SHEET_BYTES, FileInput, Source, load
from .tally import Tally

MOST_SHAPES, MOST_PLACES = 20_000, 1_000_000
"""More is no map of a farm."""
MOST_DRAWN = 20_000
"""So many places of all shapes together are handed to a map; 400 kB of its page."""
_FINEST_DEG, _COARSEST_DEG = 1e-6, 1e-2
"""Detail is left out from 0.1 m on, doubled until the places are few enough."""
_NAME = 60
_GEOJSON, _KML = (".geojson", ".json"), (".kml",)
_NAME_KEYS = ("name", "title", "label")
_MOST_NESTED = 16


def read_backdrop(given: FileInput) -> Backdrop:
    """The lines and areas of a map.

    Raises
    ------
    InputError : the file cannot be read, holds no line and no area, or more than a farm has.
    """
    source = load(given, error=InputError, what="map for the background", limit=MAX_SHEET_BYTES)
    suffix = Path(source.name).suffix.lower()
    tally = Tally(source.name)
    try:
        if suffix in _GEOJSON:
            found = list(_counted(_geojson_shapes(source)))
        elif suffix in _KML:
            found = list(_counted(kml_shapes(source.data)))
        else:
            raise ShapeRefusal("give the fields, paths and buildings as .geojson or .kml")
        shapes = [one for one in found if not one.is_point]
        if not shapes:
            raise ShapeRefusal("holds no line and no area")
    except ShapeRefusal as why:
        raise InputError(str(why), file=source.name) from None
    points = len(found) - len(shapes)
    if points:
        tally.fact(
            English.counted(
                points,
                "{count} point is not drawn; lines and areas are",
                "{count} points are not drawn; lines and areas are",
            )
        )
    return Backdrop(shapes=_simplified(shapes), file=source.file, notices=tally.notices())


def _counted(shapes: Iterator[FoundShape]) -> Iterator[FoundShape]:
    """The shapes, each checked, and not too many."""
    count = places = 0
    for one in shapes:
        count, places = count + 1, places + len(one.places)
        if count > MOST_SHAPES or places > MOST_PLACES:
            raise ShapeRefusal(
                f"more than {MOST_SHAPES:,} shapes or {MOST_PLACES:,} positions; "
                "keep those of the farm"
            )
        if not all(abs(lon) <= 180 and abs(lat) <= 90 for lon, lat in one.places):
            raise ShapeRefusal(
                f"shape {count}: positions must be longitude and latitude in degrees; save it in "
                "WGS 84 (EPSG:4326)"
            )
        least = 1 if one.is_point else 3 if one.is_area else 2
        if len(set(one.places)) >= least:
            yield one


def _geojson_shapes(source: Source) -> Iterator[FoundShape]:
    if memory_of(source.data) > MAX_MEMORY:
        raise ShapeRefusal("so many values that they would fill the memory; keep those of the farm")
    text, _ = decode(source.data)
    try:
        top = parse_json(text)
        if not isinstance(top, dict):
            raise TypeError
        features = top["features"] if top.get("type") == "FeatureCollection" else [top]
        if not isinstance(features, list):
            raise TypeError
        for number, feature in enumerate(features, start=1):
            if not isinstance(feature, dict):
                raise ShapeRefusal(f"feature {number} is no GeoJSON feature")
            whole = feature if feature.get("type") == "Feature" else {"geometry": feature}
            name = _name(whole.get("properties"))
            try:
                yield from _of_geometry(whole.get("geometry"), name, 0)
            except (TypeError, ValueError, LookupError, AttributeError, OverflowError) as why:
                if isinstance(why, ShapeRefusal):
                    raise
                raise ShapeRefusal(f"feature {number} is no GeoJSON geometry") from None
    except (ValueError, TypeError, KeyError) as why:
        if isinstance(why, ShapeRefusal):
            raise
        raise ShapeRefusal("is no GeoJSON") from None


def _name(values: Any) -> str:
    if not isinstance(values, dict):
        return ""
    lower = {str(key).lower(): value for key, value in values.items()}
    named = (lower[key] for key in _NAME_KEYS if isinstance(lower.get(key), str))
    return next((name for one in named if (name := clean(one[:400], _NAME))), "")


def _of_geometry(shape: Any, name: str, depth: int) -> Iterator[FoundShape]:
    if shape is None:  # a feature without a place [RFC 7946, 3.2]
        return
    kind = shape["type"]
    if kind == "GeometryCollection":
        if depth > _MOST_NESTED:
            raise ShapeRefusal("collections nested too deeply")
        for one in shape["geometries"]:
            yield from _of_geometry(one, name, depth + 1)
        return
    held = shape["coordinates"]
    parts = held if kind.startswith("Multi") else [held]
    for part in parts:
        if kind.endswith("Polygon"):
            for ring in part:
                yield FoundShape(name, "area", _places(ring))
        elif kind.endswith("LineString"):
            yield FoundShape(name, "line", _places(part))
        elif kind.endswith("Point"):
            yield FoundShape(name, "point", _places([part]))
        else:
            raise ValueError(kind)


def _places(positions: list[list[float]]) -> tuple[LonLat, ...]:
    places = []
    for one in positions:
        lon, lat = one[0], one[1]
        if type(lon) not in (int, float) or type(lat) not in (int, float):
            raise TypeError
        places.append((float(lon), float(lat)))
    return tuple(places)


def _simplified(found: list[FoundShape]) -> tuple[BackdropShape, ...]:
    """The shapes with so little detail that a map can hold them."""
    import numpy as np
    import shapely

    lines = [shapely.LineString(one.places) for one in found]
    tolerance = _FINEST_DEG
    drawn = shapely.simplify(np.array(lines), tolerance)
    while shapely.get_num_coordinates(drawn).sum() > MOST_DRAWN and tolerance < _COARSEST_DEG:
        tolerance *= 2
        drawn = shapely.simplify(np.array(lines), tolerance)
    return tuple(
        BackdropShape(
            name=one.name,
            is_area=one.is_area,
            places=tuple((float(lon), float(lat)) for lon, lat in shapely.get_coordinates(line)),
        )
        for one, line in zip(found, drawn, strict=True)
    )
