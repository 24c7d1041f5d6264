"""Lines, outlines and points of a KML file (OGC 12-007r2, 10)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from math import isfinite
from xml.parsers import expat

from ..core.beds import LonLat
from ..core.safe_text import clean
from .backdrop_shapes import FoundShape, ShapeRefusal

_KINDS = {"LineString": "line", "LinearRing": "area", "Point": "point"}
_DEEPEST = 64
_NAME = 60
_MOST_NAMES = 10_000
_CHUNK = 1 << 16


def kml_shapes(data: bytes) -> Iterator[FoundShape]:
    """The shapes of a KML file in order.

    Raises
    ------
    ShapeRefusal : it is no KML, or made to do harm.
    """
    reader = _Reader()
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    parser.StartDoctypeDeclHandler = _refuse_doctype
    parser.StartElementHandler = reader.begin
    parser.EndElementHandler = reader.end
    parser.CharacterDataHandler = reader.text
    try:
        for at in range(0, len(data), _CHUNK):
            parser.Parse(data[at : at + _CHUNK], False)
            if len(parser.intern) > _MOST_NAMES:  # each is kept until the end
                raise ShapeRefusal(f"more than {_MOST_NAMES:,} names of elements and attributes")
        parser.Parse(b"", True)
    except expat.ExpatError as why:
        raise ShapeRefusal(
            f"is no whole KML ({expat.ErrorString(why.code)}, line {why.lineno})"
        ) from None
    except (LookupError, ValueError) as why:
        if isinstance(why, ShapeRefusal):
            raise
        raise ShapeRefusal("is written in a character encoding that is not known") from None
    if not reader.is_kml:
        raise ShapeRefusal("is no KML")
    yield from reader.found


def _refuse_doctype(*_: object) -> None:
    raise ShapeRefusal("has a DOCTYPE, which may hide harmful entities; save it without")


class _Reader:
    """Collects shapes from expat's calls."""

    def __init__(self) -> None:
        self.found: list[FoundShape] = []
        self.is_kml = False
        self._path: list[str] = []
        self._name = ""
        self._of_this: list[FoundShape] = []
        self._pieces: list[str] | None = None

    def begin(self, tag: str, _: dict[str, str]) -> None:
        """An element begins."""
        name = tag.rpartition(" ")[2]
        if not self._path:
            self.is_kml = name == "kml"
        self._path.append(name)
        if len(self._path) > _DEEPEST:
            raise ShapeRefusal(f"elements nested deeper than {_DEEPEST}")
        if name == "Placemark":
            self._name, self._of_this = "", []
        wanted = name == "coordinates" or self._path[-2:] == ["Placemark", "name"]
        self._pieces = [] if wanted else None

    def text(self, piece: str) -> None:
        """Text between tags."""
        if self._pieces is not None:
            self._pieces.append(piece)

    def end(self, _: str) -> None:
        """An element ends."""
        name = self._path.pop()
        if self._pieces is not None:
            held = "".join(self._pieces)
            if name == "coordinates":
                self._shape(held)
            else:
                self._name = clean(held[:400], _NAME)
            self._pieces = None
        if name == "Placemark":  # its name may stand behind its shape
            named = (FoundShape(self._name, one.kind, one.places) for one in self._of_this)
            self.found += named
            self._of_this = []

    def _shape(self, held: str) -> None:
        kind = _KINDS.get(self._path[-1] if self._path else "")
        places = _places(held)
        if kind == "line":
            self._of_this.append(FoundShape("", "line", places))
        elif kind == "area":
            self._of_this.append(FoundShape("", "area", places))
        elif kind == "point":
            self._of_this.append(FoundShape("", "point", places))


def _places(held: str) -> tuple[LonLat, ...]:
    """Places written "longitude,latitude[,height]", apart by space.

    Raises
    ------
    ShapeRefusal : a number is none.
    """
    places = []
    for one in re.sub(r"\s*,\s*", ",", held).split():
        try:
            lon, lat = map(float, one.split(",")[:2])
        except ValueError:
            raise ShapeRefusal(f"{clean(one, 40)!r} is no longitude,latitude") from None
        if not isfinite(lon) or not isfinite(lat):
            raise ShapeRefusal(f"{clean(one, 40)!r} is no longitude,latitude")
        places.append((lon, lat))
    return tuple(places)
