"""KML with `gx:Track` (OGC KML 2.3, 15.4), or with dated points; a bare line carries no times.

`when` and `coord` are paired by their order within each track; `SimpleArrayData` named speed,
accuracy or HDOP adds fields. Points with a `TimeStamp` are taken as fixes if there is no track,
and as waypoints otherwise.
"""

from __future__ import annotations

from array import array
from collections.abc import Callable
from datetime import tzinfo
from xml.parsers import expat

from ....core.errors import TrackFileError
from ....core.language import English
from ....core.safe_text import clean
from ....core.track import Waypoint
from ....core.written import number
from ...files import Source
from ..degrees import COMMA
from ..field_names import field_named
from ..raw_fixes import MAX_POINTS, NAN, FixColumns, TrackTally, too_many
from ..track_clock import TrackClock
from ..track_format import TrackFormat
from ..xml_feed import MAX_ATTRIBUTES, MAX_DEPTH, Limits, read_xml

MAX_WAYPOINTS = 10_000
_USED = frozenset(
    (
        "when",
        "coord",
        "value",
        "name",
        "coordinates",
        "track",
        "placemark",
        "point",
        "linestring",
        "simplearraydata",
    )
)
_OPENING = _USED - {"when", "coord", "value", "name"}


def read_kml_track(source: Source, zone: tzinfo | None) -> FixColumns:
    """The fixes of a KML file's tracks as columns.

    Raises
    ------
    TrackFileError : it is no XML, made to do harm, or times and positions do not pair up.
    """
    return read_xml(source, lambda: _Reader(source.name, zone))


class _Reader:
    """Fills columns from expat's calls; one per attempt."""

    def __init__(self, name: str, zone: tzinfo | None) -> None:
        self.columns = FixColumns(TrackTally(name))
        self._clock = TrackClock(zone, self.columns.tally)
        self._point_clock = TrackClock(zone, self.columns.tally)
        self._lines = 0
        self._dated: list[tuple[float, float, float, float, str]] = []
        self._in_track = False
        self._reset()

    def _reset(self) -> None:
        self._when: array[float] = array("d")
        self._lon: array[float] = array("d")
        self._lat: array[float] = array("d")
        self._height: array[float] = array("d")
        self._extra: dict[str, tuple[float, array[float]]] = {}
        self._filling: array[float] | None = None

    def _dated_point(self, text: str) -> float:
        """The time of a point, which may be a fix or only a waypoint."""
        try:
            return self._point_clock.seconds(text, len(self._dated) + 1)
        except TrackFileError:
            return NAN

    def _place(self) -> int:
        return len(self.columns) + len(self._when) + 1

    def rows(self) -> int:
        return len(self.columns) + len(self._lat)

    def finish(self) -> FixColumns:
        if self._in_track:  # the file broke off within a track
            self._close_track(cut=True)
        columns = self.columns
        if not len(columns) and len(self._dated) > 1:
            self._point_clock.check()
            columns.start_segment()
            for time, lon, lat, height, _ in self._dated:
                columns.append(time, lon, lat, height)
        else:
            columns.waypoints += [
                Waypoint(
                    name=label,
                    longitude_deg=lon,
                    latitude_deg=lat,
                    time_s=time if time == time else None,
                )
                for time, lon, lat, _, label in self._dated
                if abs(lat) <= 90 and abs(lon) <= 180
            ]
        self._clock.check()
        if not len(columns):
            columns.nothing = (
                "holds a drawn line (LineString), which carries no times; export the recording "
                "as gx:Track or GPX"
                if self._lines
                else "a KML file without any track (gx:Track)"
            )
        return columns

    def _close_track(self, *, cut: bool = False) -> None:
        columns, times, places = self.columns, len(self._when), len(self._lat)
        if times != places and not cut:
            raise columns.tally.error(
                f"a track with {times} times and {places} positions; nobody can say which belong "
                "together: export it again",
                len(columns) + 1,
            )
        count = min(times, places)
        extras: dict[str, array[float]] = {}
        for field, (factor, values) in self._extra.items():
            if len(values) == places or (cut and len(values) >= count):
                extras[field] = array("d", (value * factor for value in values))
            elif len(values):
                columns.tally.repair(
                    English(
                        "{field} values of another number than the points left out", field=field
                    ),
                    len(columns) + 1,
                )
        columns.start_segment()
        columns.time_s.extend(self._when[:count])
        columns.longitude_deg.extend(self._lon[:count])
        columns.latitude_deg.extend(self._lat[:count])
        columns.height_m.extend(self._height[:count])
        for field, target in (
            ("speed", columns.speed_m_s),
            ("accuracy", columns.accuracy_m),
            ("hdop", columns.hdop),
        ):
            target.extend(extras[field][:count] if field in extras else array("d", [NAN]) * count)
        if len(columns) > MAX_POINTS:
            raise too_many(columns.tally.name)
        self._in_track = False
        self._reset()

    def _position(self, text: str, mark: str | None) -> tuple[float, float, float]:
        """Longitude, latitude and height of "7.1 48.7 210" or "7.1,48.7,210"."""
        parts = text.split(mark)
        if len(parts) < 2:
            return NAN, NAN, NAN
        try:
            lon, lat = number(parts[0]), number(parts[1])
        except ValueError:
            return NAN, NAN, NAN
        if mark is None and "," in parts[0] + parts[1]:
            self.columns.tally.repair(COMMA, self.rows() + 1)
        try:
            return lon, lat, number(parts[2])
        except (ValueError, IndexError):
            return lon, lat, NAN

    def wire(self, parser: expat.XMLParserType, limits: Limits) -> None:
        """Set the parser's handlers."""
        pieces = limits.pieces
        instant = self._clock.reader(self._place)
        clear = pieces.clear
        local: dict[str, str] = {}  # tag → what it is, "" for tags that are not used
        opening: dict[str, str] = {}  # the same, for those whose opening tag does something
        adders: tuple[Callable[[float], None], ...] = ()  # of the track being read
        depth = 0
        in_point = False
        when, label = NAN, ""
        position: tuple[float, float, float] | None = None

        def learn(tag: str) -> str:
            name = tag.rpartition(":")[2].lower()
            name = name if name in _USED else ""
            if len(local) < 1000:
                local[tag] = name
                opening[tag] = name if name in _OPENING else ""
            return name

        def start(tag: str, attributes: dict[str, str]) -> None:
            nonlocal depth, in_point, when, label, position, adders
            depth += 1
            clear()
            if depth > MAX_DEPTH or len(attributes) > MAX_ATTRIBUTES:
                limits.refuse(depth)
            name = opening.get(tag)
            if name is None:
                name = learn(tag)
            if not name:
                return
            if name == "placemark":
                when, label, position = NAN, "", None
            elif name == "track":
                self._in_track = True
                self._reset()
                adders = tuple(
                    column.append for column in (self._when, self._lon, self._lat, self._height)
                )
            elif name == "point":
                in_point = True
            elif name == "coordinates" and not in_point:
                parser.CharacterDataHandler = None  # a drawn line may be long, and is not used
                self._lines += 1
            elif name == "simplearraydata":
                field = field_named(attributes.get("name", ""))
                self._filling = array("d")
                if self._in_track and field and field.name in ("speed", "accuracy", "hdop"):
                    self._extra[field.name] = (field.factor, self._filling)

        def end(tag: str) -> None:
            nonlocal depth, in_point, when, label, position, adders
            depth -= 1
            name = local.get(tag)
            if name is None:
                name = learn(tag)
            if name:
                text = pieces[0] if len(pieces) == 1 else "".join(pieces)
                if name == "coord":
                    if adders:
                        try:
                            lon, lat, height = map(float, text.split())
                        except ValueError:
                            lon, lat, height = self._position(text, None)
                        _, add_lon, add_lat, add_height = adders
                        add_lon(lon)
                        add_lat(lat)
                        add_height(height)
                elif name == "when":
                    if adders:
                        adders[0](instant(text))
                    else:
                        when = self._dated_point(text)
                elif name == "value":
                    if self._filling is not None:
                        try:
                            self._filling.append(number(text))
                        except ValueError:
                            self._filling.append(NAN)
                elif name == "name":
                    label = clean(text)
                    if label and not self.columns.track_name:
                        self.columns.track_name = label
                elif name == "coordinates":
                    parser.CharacterDataHandler = pieces.append
                    if in_point:
                        position = self._position(text.strip(), ",")
                elif name == "point":
                    in_point = False
                elif name == "simplearraydata":
                    self._filling = None
                elif name == "track":
                    self._close_track()
                    adders = ()
                elif name == "placemark" and position and len(self._dated) < MAX_POINTS:
                    if when == when or len(self._dated) < MAX_WAYPOINTS:
                        self._dated.append((when, *position, label))
                    position = None
            clear()

        parser.StartElementHandler = start
        parser.EndElementHandler = end
        parser.CharacterDataHandler = pieces.append


KML = TrackFormat(
    name="KML",
    recognises=lambda head: head.root == "kml",
    read=read_kml_track,
    told_by="root element `kml`",
    holds="`gx:Track` and `gx:MultiTrack`; `SimpleArrayData` named speed, accuracy, HDOP (units in "
    "the name, `speed_kmh`); without a track dated `Point`s; undated ones as waypoints",
)
