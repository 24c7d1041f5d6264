"""GPX 1.0 and 1.1, streamed through expat with guards, by local names whatever the namespaces.

Read are `trkpt` with latitude, longitude, `ele`, `time`, `hdop`, and `speed` and accuracy wherever
they stand in the point (GPX 1.0, bare in 1.1, or in extensions of any namespace), track names, and
`wpt` as marks. Points become rows when their element closes, so that a file that breaks off keeps
all before the break.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import tzinfo
from typing import BinaryIO
from xml.parsers import expat

from ...core.track import Mark
from ..decoding import clean, number
from .degrees import WRITTEN, parse_degrees
from .gpx_fast import CLOSING, MAX_POINT, OPENING, Shape, learn
from .raw_fixes import MAX_POINTS, NAN, Columns, Tally, too_many
from .track_clock import TrackClock
from .xml_feed import MAX_ATTRIBUTES, MAX_DEPTH, Feed, Limits, drive

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
_TAKEN = frozenset((_ELE, _TIME, _HDOP, _SPEED, _ACCURACY))
MAX_MARKS = 10_000
MAX_SHAPES = 40
"""So many different shapes of points are learnt from a file; what is odder goes through expat."""
KEPT_SHAPES = 4
ODD_POINTS = 50
"""After so many points in a row without a known shape the rest of a piece goes through expat."""


def _code(tag: str) -> int:
    """What a tag means to us, by its local name."""
    local = tag.rpartition(":")[2]
    return _CODES.get(local) or _CODES.get(local.lower(), _OTHER)


def read_gpx(open_stream: Callable[[], BinaryIO], name: str, zone: tzinfo | None) -> Columns:
    """The points, marks and name of a GPX file as columns.

    ``open_stream`` gives the file's bytes from the start; it may be called twice, as a file whose
    characters are damaged is read again with the damage mended.

    Raises
    ------
    TrackFileError : it is no XML, or a file made to do harm.
    """
    return drive(open_stream, name, lambda: _Reader(name, zone))


class _Reader:
    """Fills columns from expat's calls; one per attempt."""

    def __init__(self, name: str, zone: tzinfo | None) -> None:
        self.columns = Columns(Tally(name))
        self._clock = TrackClock(zone, self.columns.tally)
        self._routes = 0
        self._closed_at = -1  # where, in the bytes given to expat, the last end tag of a point is
        self._shapes: list[Shape] = []
        self._learnt = 0
        self._instant = self._clock.reader(lambda: len(self.columns) + 1)

    def finish(self) -> Columns:
        self._clock.check()
        columns = self.columns
        if not len(columns):
            if self._routes:
                columns.nothing = (
                    "holds a planned route and no recorded track; export the recording instead"
                )
            elif columns.marks:
                columns.nothing = "holds marks (waypoints) and no recorded track"
            else:
                columns.nothing = "a GPX file without any track point; was the recording started?"
        return columns

    def rows(self) -> int:
        return len(self.columns)

    def take(self, feed: Feed, piece: bytes) -> None:
        """Give a piece to expat, but for runs of points that are built like one it has parsed."""
        text = piece.decode("latin-1")
        at = odd = 0
        while odd < ODD_POINTS and (closing := CLOSING.search(text, at)):
            end = closing.end()
            feed.give(piece[at:end], at)
            at = end
            if self._closed_at != feed.fed - (end - closing.start()):
                continue  # in a comment, say, or in bytes that are no ASCII
            before = at
            at = self._run(text, at)
            if at == before and self._learnt < MAX_SHAPES:
                self._learn(text, end)
                at = self._run(text, at)
            odd = 0 if at > before else odd + 1
            if at > before:
                feed.skip(text.count("\n", before, at))
            if len(self.columns) > MAX_POINTS:
                raise too_many(self.columns.tally.name)
        if at < len(piece):
            feed.give(piece[at:] if at else piece, at)

    def _learn(self, text: str, end: int) -> None:
        """Learn the shape of the point that ends at ``end``, if all of it stands in the text."""
        opening = -1
        for found in OPENING.finditer(text, max(0, end - MAX_POINT), end):
            opening = found.start()
        shape = None
        if opening >= 0:
            shape = learn(text[opening:end], _code, _TAKEN)
        if shape:
            self._learnt += 1
            self._shapes = [shape, *self._shapes[: KEPT_SHAPES - 1]]

    def _run(self, text: str, at: int) -> int:
        """Read the points from ``at`` on that have a known shape; where they end."""
        shapes = self._shapes
        while True:
            for place, shape in enumerate(shapes):
                match = shape.match
                rows = []
                while found := match(text, at):
                    rows.append(found.groups())
                    at = found.end()
                if rows:
                    self._fill(shape, rows)
                    if place:
                        shapes.insert(0, shapes.pop(place))
                    break
            else:
                return at

    def _fill(self, shape: Shape, rows: list[tuple[str, ...]]) -> None:
        """Add the points of one run; each field by the same functions as from expat."""
        columns = self.columns
        given = dict(zip(shape.fields, zip(*rows, strict=True), strict=True))
        start = len(columns)
        columns.longitude_deg.extend(map(float, given["lon"]))
        columns.latitude_deg.extend(map(float, given["lat"]))
        for code, column in (
            (_ELE, columns.height_m),
            (_SPEED, columns.speed_m_s),
            (_ACCURACY, columns.accuracy_m),
            (_HDOP, columns.hdop),
        ):
            if code not in given:
                column.extend([NAN] * len(rows))
                continue
            try:
                column.extend(map(float, given[code]))
            except ValueError:
                del column[start:]
                for row, text in enumerate(given[code]):
                    try:
                        column.append(float(text))
                    except ValueError:
                        column.append(self._repaired(text, code, start + row + 1))
        instant, add_time = self._instant, columns.time_s.append
        if _TIME in given:
            for text in given[_TIME]:
                add_time(instant(text))
        else:
            columns.time_s.extend([NAN] * len(rows))

    def _repaired(self, text: str, code: int, place: int) -> float:
        """A field that `float` does not read."""
        word, tally = _FIELD_WORDS[code], self.columns.tally
        try:
            value = number(text)
        except ValueError:
            if text.strip():
                tally.repair(f"{word} that is no number left out", place)
            return NAN
        tally.repair(f"decimal comma in a {word} read as a point", place)
        return value

    def wire(self, parser: expat.XMLParserType, limits: Limits) -> None:
        """Set the parser's handlers. One closure, as attribute look-ups would cost a third."""
        self._closed_at = -1
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
        instant, repaired = self._instant, self._repaired

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
                tally.repair("decimal comma in a position read as a point", len(columns) + 1)
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
                    time = instant(text) if inside == _TRKPT else clock.mark(text)
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
                    self._closed_at = parser.CurrentByteIndex
                elif code == _WPT:
                    keep_mark()
                else:
                    self._routes += 1
                inside = _OTHER
            clear()

        def keep_mark() -> None:
            if abs(lat) <= 90 and abs(lon) <= 180 and len(columns.marks) < MAX_MARKS:
                columns.marks.append(
                    Mark(
                        name=clean(label),
                        longitude_deg=lon,
                        latitude_deg=lat,
                        time_s=time if time == time else None,
                    )
                )

        parser.StartElementHandler = start
        parser.EndElementHandler = end
        parser.CharacterDataHandler = pieces.append
