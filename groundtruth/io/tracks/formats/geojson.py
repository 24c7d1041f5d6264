"""GeoJSON (RFC 7946) tracks: lines with a list of times beside them, or points with a time each.

RFC 7946 has no times; the spellings in common use are read: for lines `coordTimes`, `times`,
`timestamps` and the like in the properties or in `coordinateProperties`, or a fourth number in
each position; for points `time`, `timestamp`, `datetime` and the like.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import tzinfo
from typing import Any

from ....core.language import English
from ....core.safe_text import clean
from ....core.track import Waypoint
from ....core.written import number
from ...files import Source
from ..degrees import WRITTEN, parse_degrees
from ..field_names import field_named, plain_name
from ..json_text import read_json
from ..raw_fixes import NAN, FixColumns, TrackTally
from ..track_clock import TrackClock, from_epoch
from ..track_format import TrackFormat

MAX_DEPTH = 12
_TIMES = frozenset(
    ("coord times", "coordinate times", "coords times", "times", "time", "timestamps", "timestamp",
     "datetimes", "date times")
)  # fmt: skip
_PLURALS = {"speeds": "speed", "accuracies": "accuracy", "altitudes": "height", "heights": "height"}


def read_geojson_track(source: Source, zone: tzinfo | None) -> FixColumns:
    """The fixes of all lines and dated points as columns.

    Raises
    ------
    TrackFileError : it is no JSON, or positions and times do not pair up.
    """
    document, repair = read_json(source)
    reader = _Reader(source.name, zone)
    reader.cut = repair.cut
    if repair.remark:
        reader.tally.repair_of_line(repair.remark, repair.line)
    reader.walk(document, {}, 0)
    return reader.finish()


class _Reader:
    def __init__(self, name: str, zone: tzinfo | None) -> None:
        self.tally = TrackTally(name)
        self.columns = FixColumns(self.tally)
        self.cut = False
        self._clock = TrackClock(zone, self.tally)
        self._instant = self._clock.reader(lambda: len(self.columns) + 1)
        self._untimed_lines = self._untimed_at = 0
        self._in_points = False

    def finish(self) -> FixColumns:
        columns = self.columns
        self._clock.check()
        if self.cut:
            self.tally.repair(
                English("the file is cut off there: what stands before is used"), len(columns)
            )
        if not len(columns):
            columns.nothing = (
                "holds a line without times; export it with times, or export the recording as GPX"
                if self._untimed_lines
                else "GeoJSON without any line or dated point"
            )
        elif self._untimed_lines:
            self.tally.repair(
                English("line without times left out"), self._untimed_at, self._untimed_lines
            )
        return columns

    def walk(self, node: Any, properties: dict[str, Any], depth: int) -> None:
        """Read a GeoJSON object of any type."""
        if depth > MAX_DEPTH:
            return
        if isinstance(node, list):
            for one in node:
                self.walk(one, properties, depth + 1)
            return
        if not isinstance(node, dict):
            return
        kind = node.get("type")
        if kind == "FeatureCollection":
            self.walk(node.get("features"), properties, depth + 1)
        elif kind == "Feature":
            held = node.get("properties")
            held = held if isinstance(held, dict) else {}
            title = held.get("name")
            if isinstance(title, str) and not self.columns.track_name:
                self.columns.track_name = clean(title)
            self.walk(node.get("geometry"), held, depth + 1)
        elif kind == "GeometryCollection":
            self.walk(node.get("geometries"), properties, depth + 1)
        elif kind == "Point":
            self._point(node.get("coordinates"), properties)
        elif kind == "LineString":
            self._lines([node.get("coordinates")], properties)
        elif kind == "MultiLineString":
            lines = node.get("coordinates")
            self._lines(lines if isinstance(lines, list) else [], properties)

    def _time(self, value: Any) -> float:
        if isinstance(value, str):
            if value[4:5] == "-":
                return self._instant(value)
            try:
                return from_epoch(number(value))
            except ValueError:
                return self._instant(value)
        if isinstance(value, bool) or not isinstance(value, int | float):
            return NAN
        return from_epoch(_number(value))

    def _angle(self, value: Any) -> float:
        if not isinstance(value, str):
            return _number(value)
        try:
            return number(value)
        except ValueError:
            pass
        try:
            angle = parse_degrees(value)
        except ValueError:
            return NAN
        self.tally.repair(WRITTEN, len(self.columns) + 1)
        return angle

    def _point(self, position: Any, properties: dict[str, Any]) -> None:
        values: dict[str, Any] = {}
        factors: dict[str, float] = {}
        for key, value in properties.items():
            field = field_named(key)
            if field and field.name not in values and value is not None:
                values[field.name], factors[field.name] = value, field.factor
        lon, lat, height, fourth = _position(position, self._angle)
        time = self._time(values["time"]) if "time" in values else NAN
        if "time" not in values and fourth == fourth:
            time = from_epoch(fourth)
        if "time" not in values and time != time:
            name = properties.get("name")
            if isinstance(name, str) and abs(lat) <= 90 and abs(lon) <= 180:
                self._waypoint(clean(name), lon, lat)
            return
        if not self._in_points:
            self.columns.start_segment()
            self._in_points = True
        held = {
            name: _number(values[name]) * factors[name]
            for name in ("height", "speed", "accuracy", "hdop")
            if name in values
        }
        self.columns.append(
            time,
            lon,
            lat,
            height if height == height else held.get("height", NAN),
            held.get("speed", NAN),
            held.get("accuracy", NAN),
            held.get("hdop", NAN),
        )

    def _waypoint(self, name: str, lon: float, lat: float) -> None:
        if len(self.columns.waypoints) < 10_000:
            self.columns.waypoints.append(Waypoint(name=name, longitude_deg=lon, latitude_deg=lat))

    def _lines(self, lines: list[Any], properties: dict[str, Any]) -> None:
        lines = [line if isinstance(line, list) else [] for line in lines]
        total = sum(map(len, lines))
        if not total:
            return
        beside = properties.get("coordinateProperties")
        held = {**(beside if isinstance(beside, dict) else {}), **properties}
        times: list[Any] | None = None
        extras: dict[str, tuple[float, list[Any]]] = {}
        for key, value in held.items():
            if not isinstance(value, list):
                continue
            name = plain_name(key)
            flat = _flat(value)
            if name in _TIMES and times is None:
                times = flat
                continue
            field = field_named(_PLURALS.get(name, key))
            if field and field.name in ("speed", "accuracy", "hdop", "height"):
                if len(flat) == total:
                    extras[field.name] = (field.factor, flat)
                else:
                    self.tally.repair(
                        English(
                            "{field} values of another number than the points left out",
                            field=field.name,
                        ),
                        len(self.columns) + 1,
                    )
        if times is not None and len(times) != total:
            raise self.tally.error(
                f"a track with {len(times)} times and {total} positions; nobody can say which "
                "belong together: export it again",
                len(self.columns) + 1,
            )
        row = 0
        for line in lines:
            self.columns.start_segment()
            self._in_points = False
            for position in line:
                lon, lat, height, fourth = _position(position, self._angle)
                if times is not None:
                    time = self._time(times[row])
                else:
                    time = from_epoch(fourth) if fourth == fourth else NAN
                    if time != time:
                        self._untimed_lines += 1
                        self._untimed_at = self._untimed_at or len(self.columns) + 1
                        break
                more = {
                    name: _number(values[row]) * factor for name, (factor, values) in extras.items()
                }
                self.columns.append(
                    time,
                    lon,
                    lat,
                    height if height == height else more.get("height", NAN),
                    more.get("speed", NAN),
                    more.get("accuracy", NAN),
                    more.get("hdop", NAN),
                )
                row += 1


def _flat(values: list[Any]) -> list[Any]:
    """Times of a MultiLineString stand in one list per line, or in one list for all."""
    if values and all(isinstance(one, list) for one in values):
        return [item for one in values for item in one]
    return values


def _number(value: Any) -> float:
    if isinstance(value, str):
        try:
            return number(value)
        except ValueError:
            return NAN
    if isinstance(value, bool) or not isinstance(value, int | float):
        return NAN
    try:
        return float(value)
    except OverflowError:
        return NAN


def _position(position: Any, angle: Callable[[Any], float]) -> tuple[float, float, float, float]:
    """Longitude, latitude, height and a fourth number of a GeoJSON position, NaN where missing."""
    if not isinstance(position, list) or len(position) < 2:
        return NAN, NAN, NAN, NAN
    if len(position) == 3 and all(type(one) is float for one in position):
        return position[0], position[1], position[2], NAN
    height = _number(position[2]) if len(position) > 2 else NAN
    fourth = _number(position[3]) if len(position) > 3 else NAN
    return angle(position[0]), angle(position[1]), height, fourth


GEOJSON = TrackFormat(
    name="GeoJSON",
    recognises=lambda head: head.text.startswith(("{", "[")),
    read=read_geojson_track,
    told_by="`{` or `[`",
    holds="`LineString`, `MultiLineString` with times in the properties or in "
    "`coordinateProperties`: `coordTimes`, `coordinateTimes`, `times`, `time`, `timestamps`, "
    "`datetimes`, or a fourth number in each position; lists named speeds, accuracies, heights, "
    "hdop beside them; `Point` with `time`, `timestamp`, `datetime`, `when`, …; points without "
    "time as waypoints; features in a collection, a list, or one after the other (RFC 8142 too)",
)
