"""GPX 1.0 and 1.1, streamed through expat with guards, by local names whatever the namespaces.

Read are `trkpt` with latitude, longitude, `ele`, `time`, `hdop`, and `speed` and accuracy wherever
they stand in the point (GPX 1.0, bare in 1.1, or in extensions of any namespace), track names, and
`wpt` as waypoints. Points become rows when their element closes, so that a file that breaks off
keeps all before the break.
"""

from __future__ import annotations

from datetime import tzinfo
from xml.parsers import expat

from ....core.language import English
from ....core.safe_text import clean
from ....core.track import Waypoint
from ....core.written import number
from ...files import Source
from ..degrees import COMMA, WRITTEN, parse_degrees
from ..raw_fixes import NAN, FixColumns, TrackTally
from ..track_clock import TrackClock
from ..track_format import TrackFormat
from ..xml_feed import MAX_ATTRIBUTES, MAX_DEPTH, Limits, read_xml

_TRKPT, _WPT, _RTEPT, _SEGMENT, _TRACK, _OTHER = 1, 2, 3, 4, 5, 0
_ELE, _TIME, _HDOP, _SPEED, _ACCURACY, _NAME = 10, 11, 12, 13, 14, 15
_CODES = {
    "trkpt": _TRKPT,
    "wpt": _WPT,
    "rtept": _RTEPT,
    "trkseg": _SEGMENT,
    "trk": _TRACK,
    "ele": _ELE,
    "time": _TIME,
    "hdop": _HDOP,
    "speed": _SPEED,
    "accuracy": _ACCURACY,
    "acc": _ACCURACY,
    "hacc": _ACCURACY,
    "h_acc": _ACCURACY,
    "horizontalaccuracy": _ACCURACY,
    "horizontal_accuracy": _ACCURACY,
    "name": _NAME,
}
_FIELD_WORDS = {_ELE: "height", _HDOP: "HDOP", _SPEED: "speed", _ACCURACY: "accuracy"}
MAX_WAYPOINTS = 10_000


def _code(tag: str) -> int:
    """What a tag means to us, by its local name."""
    local = tag.rpartition(":")[2]
    return _CODES.get(local) or _CODES.get(local.lower(), _OTHER)


def read_gpx_track(source: Source, zone: tzinfo | None) -> FixColumns:
    """The points, waypoints and name of a GPX file as columns.

    Raises
    ------
    TrackFileError : it is no XML, or a file made to do harm.
    """
    return read_xml(source, lambda: _Reader(source.name, zone))


class _Reader:
    """Fills columns from expat's calls; one per attempt."""

    def __init__(self, name: str, zone: tzinfo | None) -> None:
        self.columns = FixColumns(TrackTally(name))
        self._clock = TrackClock(zone, self.columns.tally)
        self._routes = 0

    def finish(self) -> FixColumns:
        self._clock.check()
        columns = self.columns
        if not len(columns):
            if self._routes:
                columns.nothing = (
                    "holds a planned route and no recorded track; export the recording instead"
                )
            elif columns.waypoints:
                columns.nothing = "holds waypoints and no recorded track"
            else:
                columns.nothing = "a GPX file without any track point; was the recording started?"
        return columns

    def rows(self) -> int:
        return len(self.columns)

    def _repaired(self, text: str, code: int, place: int) -> float:
        """A field that `float` does not read."""
        word, tally = _FIELD_WORDS[code], self.columns.tally
        try:
            value = number(text)
        except ValueError:
            if text.strip():
                tally.repair(English("{field} that is no number left out", field=word), place)
            return NAN
        tally.repair(English("decimal comma in a {field} read as a point", field=word), place)
        return value

    def wire(self, parser: expat.XMLParserType, limits: Limits) -> None:
        """Set the parser's handlers. One closure, as attribute look-ups would cost a third."""
        columns, clock, tally = self.columns, self._clock, self.columns.tally
        codes: dict[str, int] = dict(_CODES)
        pieces = limits.pieces
        clear = pieces.clear
        add_time, add_lon = columns.time_s.append, columns.longitude_deg.append
        add_lat, add_height = columns.latitude_deg.append, columns.height_m.append
        add_speed, add_accuracy = columns.speed_m_s.append, columns.accuracy_m.append
        add_hdop = columns.hdop.append
        depth, inside, in_track_head = 0, _OTHER, False
        time = lon = lat = height = speed = accuracy = hdop = NAN
        label = ""
        instant, repaired = clock.reader(lambda: len(columns) + 1), self._repaired

        def learn(tag: str) -> int:
            code = _code(tag)
            if len(codes) < 1000:
                codes[tag] = code
            return code

        def coordinate(text: str | None) -> float:
            text = text or ""
            try:
                value = number(text)
            except ValueError:
                try:
                    value = parse_degrees(text)
                except ValueError:
                    return NAN
                tally.repair(WRITTEN, len(columns) + 1)
                return value
            if "," in text:
                tally.repair(COMMA, len(columns) + 1)
            return value

        def start(tag: str, attributes: dict[str, str]) -> None:
            nonlocal depth, inside, in_track_head, time, lon, lat
            nonlocal height, speed, accuracy, hdop, label
            depth += 1
            clear()
            if depth > MAX_DEPTH or len(attributes) > MAX_ATTRIBUTES:
                limits.refuse(depth)
            code = codes.get(tag)
            if code is None:
                code = learn(tag)
            if 0 < code <= _RTEPT:
                inside = code
                try:
                    lat = float(attributes["lat"])
                    lon = float(attributes["lon"])
                except (KeyError, ValueError):
                    lat = coordinate(attributes.get("lat"))
                    lon = coordinate(attributes.get("lon"))
                time = height = speed = accuracy = hdop = NAN
                label = ""
            elif code == _SEGMENT:
                in_track_head = False
                columns.start_segment()
            elif code == _TRACK:
                in_track_head = True
                columns.start_segment()

        def end(tag: str) -> None:
            nonlocal depth, inside, time, height, speed, accuracy, hdop, label
            depth -= 1
            code = codes.get(tag, _OTHER)
            if code >= _ELE:
                text = pieces[0] if len(pieces) == 1 else "".join(pieces)
                if not inside:
                    if code == _NAME and in_track_head and not columns.track_name:
                        columns.track_name = clean(text)
                elif code == _TIME:
                    time = instant(text) if inside == _TRKPT else clock.seconds_or_nan(text)
                elif code == _NAME:
                    label = text
                else:
                    try:
                        value = float(text)
                    except ValueError:
                        value = repaired(text, code, len(columns) + 1)
                    if code == _ELE:
                        height = value
                    elif code == _SPEED:
                        speed = value
                    elif code == _ACCURACY:
                        accuracy = value
                    else:
                        hdop = value
            elif 0 < code <= _RTEPT:
                if code == _TRKPT:
                    add_time(time)
                    add_lon(lon)
                    add_lat(lat)
                    add_height(height)
                    add_speed(speed)
                    add_accuracy(accuracy)
                    add_hdop(hdop)
                elif code == _WPT:
                    keep_waypoint()
                else:
                    self._routes += 1
                inside = _OTHER
            clear()

        def keep_waypoint() -> None:
            if abs(lat) <= 90 and abs(lon) <= 180 and len(columns.waypoints) < MAX_WAYPOINTS:
                columns.waypoints.append(
                    Waypoint(
                        name=clean(label),
                        longitude_deg=lon,
                        latitude_deg=lat,
                        time_s=time if time == time else None,
                    )
                )

        parser.StartElementHandler = start
        parser.EndElementHandler = end
        parser.CharacterDataHandler = pieces.append


GPX = TrackFormat(
    name="GPX 1.0 and 1.1",
    recognises=lambda head: head.root == "gpx",
    read=read_gpx_track,
    told_by="root element `gpx`, whatever its namespace",
    holds="`trkpt` with `ele`, `time`, `hdop`; `speed`, `accuracy` (also `acc`, `hacc`, "
    "`horizontalAccuracy`) anywhere in the point; `trk` with its name, `trkseg`; `wpt`",
)
