"""Tracks as tables: any order of columns, headers in common spellings, any separator.

The header is the first line that names a latitude, a longitude and a time. Decimal commas, date
and time in two columns, times since 1970 in s, ms, µs or ns, hemispheres beside or within the
numbers, both in one cell, degrees with minutes, and units in the headings ("speed (km/h)") are
understood.
"""

from __future__ import annotations

import csv
import io
from array import array
from collections.abc import Callable, Iterator
from datetime import tzinfo
from typing import TYPE_CHECKING

from ....core.display import and_joined
from ....core.errors import TrackFileError
from ....core.language import English
from ....core.safe_text import clean
from ....core.written import nearest, number
from ...files import Source
from ..degrees import COMMA, WRITTEN, parse_degrees
from ..field_names import NAMES, POSITIONS, FixField, field_named, plain_name
from ..position_cell import TWO_CELLS, PositionCells
from ..raw_fixes import FREE_LINES, MAX_POINTS, NAN, FixColumns, TrackTally, too_many, too_sparse
from ..table_lines import table_lines
from ..track_clock import TrackClock, from_epoch
from ..track_format import UNREADABLE, Head, TrackFormat

if TYPE_CHECKING:
    from _csv import Reader as CsvRows

HEADER_WITHIN = 60  # lines
SEPARATORS = "\t;|,"
_WORDS = {"lat": "latitude", "lon": "longitude", "time": "time"}
LINES_OF_A_ROW = 20  # a remark in quotes may hold line breaks


def read_csv_track(source: Source, zone: tzinfo | None) -> FixColumns:
    """The rows of a table, CSV or .xlsx, as columns.

    Raises
    ------
    TrackFileError : no line names latitude, longitude and time.
    """
    lines = table_lines(source, lambda top: len(_fields_named(top)))
    return _Reader(source.name, zone).read(lines)


def _names_positions(head: Head) -> bool:
    """Whether a text begins with a header that names at least two fields of a track."""
    if head.root or head.binary:
        return False
    return len(_fields_named(io.StringIO(head.text))) > 1


def _fields_named(lines: Iterator[str]) -> dict[str, tuple[int, FixField]]:
    """The fields that the best header among the first lines names, with their columns."""
    reader = _Reader("", None)
    reader.find_header(lines)
    return reader.where


def _nearest(heading: str, fields: list[str], likeness: float) -> str:
    """The field among ``fields`` of which a heading may be a misspelling, or ""."""
    names = [name for name in NAMES if NAMES[name] in fields]
    return NAMES.get(nearest(plain_name(heading), names, likeness), "")


class _Reader:
    def __init__(self, name: str, zone: tzinfo | None) -> None:
        self._name = name
        self.tally = TrackTally(name, "line")
        self.columns = FixColumns(self.tally)
        self._clock = TrackClock(zone, self.tally)
        self.where: dict[str, tuple[int, FixField]] = {}
        self._pairs: PositionCells | None = None

    def read(self, lines: Iterator[str]) -> FixColumns:
        header, separator, line = self.find_header(lines)
        missing = [word for word in ("lat", "lon", "time") if word not in self.where]
        if "time" in missing and "date" in self.where:
            missing.remove("time")  # a date column that holds the time of day too
        if {"lat", "lon"} <= {*missing} and (both := POSITIONS.keys() & self.where.keys()):
            name = min(both, key=lambda one: self.where[one][0])
            missing = [word for word in missing if word == "time"]
            self.where["lat"] = self.where["lon"] = (self.where[name][0], FixField(name))
            self._pairs = PositionCells(POSITIONS[name], self.tally)
        if missing:
            raise self._incomplete(header, missing, line)
        for cell in header:
            fields = [one for one in ("height", "speed", "accuracy") if one not in self.where]
            if field_named(cell) is None and (field := _nearest(cell, fields, 0.75)):
                self.tally.warn(
                    English(
                        "column {column!r} is not used; did you mean {field}?",
                        column=clean(cell, 40),
                        field=field,
                    ),
                    line,
                )
        self.columns.start_segment()
        self._rows(lines, separator, len(header), line)
        self._clock.check()
        if self._pairs:
            self._pairs.put_right(self.columns)
        if not len(self.columns):
            self.columns.nothing = "no line below the header"
        return self.columns

    def find_header(self, lines: Iterator[str]) -> tuple[list[str], str, int]:
        """The header's cells, the separator and its line; the best line among the first."""
        first: tuple[list[str], str, int] = ([], ",", 1)
        for line_number, line in enumerate(lines, start=1):
            if line_number > HEADER_WITHIN:
                break
            bare = line.strip().lstrip("\ufeff").lstrip("#").strip()
            if not bare:
                continue
            separator = max(SEPARATORS, key=bare.count)
            try:
                cells = next(csv.reader([bare], delimiter=separator))
            except (csv.Error, StopIteration):
                continue
            cells = [cell.strip() for cell in cells]
            where: dict[str, tuple[int, FixField]] = {}
            for index, cell in enumerate(cells):
                field = field_named(cell)
                if field and field.name not in where:
                    where[field.name] = (index, field)
            if len(where) > len(self.where) or not first[0]:
                self.where, first = where, (cells, separator, line_number)
            if {"lat", "lon"} <= where.keys() or ("time" in where and POSITIONS.keys() & where):
                break
        return first

    def _incomplete(self, header: list[str], missing: list[str], line: int) -> TrackFileError:
        said = and_joined([_WORDS[one] for one in missing])
        names = [plain_name(cell) for cell in header]
        if "turns" in names:
            return self.tally.error("is a sheet of turn counts; the track is another file")
        both = ["lat", "lon"]
        if {*both} <= {*missing} and not any(_nearest(cell, both, 0.6) for cell in header):
            return self.tally.error(UNREADABLE)
        near = {cell: _nearest(cell, missing, 0.6) for cell in header if field_named(cell) is None}
        near = {cell: field for cell, field in near.items() if field}
        if near:
            unknown = and_joined([repr(clean(cell, 40)) for cell in near])
            meant = and_joined(list(dict.fromkeys(_WORDS[field] for field in near.values())))
            return TrackFileError(
                f"no column for {said}; {unknown} {'is' if len(near) == 1 else 'are'} not known; "
                f"did you mean {meant}?",
                file=self._name,
                line=line,
                cell=next(iter(near)),
            )
        return self.tally.error(
            f"no column for {said}; name the columns time,latitude,longitude", line
        )

    def _rows(self, lines: Iterator[str], separator: str, width: int, line: int) -> None:
        where = {name: index for name, (index, _) in self.where.items()}
        lat_at, lon_at = where["lat"], where["lon"]
        time_at, date_at = where.get("time", -1), where.get("date", -1)
        columns, pairs = self.columns, self._pairs
        columns.places = places = array("q")
        add_time, add_lon = columns.time_s.append, columns.longitude_deg.append
        add_lat, add_place = columns.latitude_deg.append, places.append
        others = [
            (column.append, name, where[name], self.where[name][1].factor)
            for name, column in (
                ("height", columns.height_m),
                ("speed", columns.speed_m_s),
                ("accuracy", columns.accuracy_m),
                ("hdop", columns.hdop),
            )
            if name in where
        ]
        needed = max(lat_at, lon_at, time_at, date_at)
        unused = 0
        segment_at, segment = where.get("segment", -1), ""
        utc = any(self.where[one][1].utc for one in ("time", "date") if one in self.where)
        instant = self._clock.reader(lambda: line, utc=utc)
        rows, header_line, before = csv.reader(lines, delimiter=separator), line, 0
        for cells in self._whole(rows, header_line):
            line = header_line + before + 1
            if rows.line_num > before + 1:
                self.tally.warn(English("cell in quotes over several lines"), line)
            before = rows.line_num
            if not cells or cells[0].startswith("#") or (len(cells) == 1 and not cells[0].strip()):
                unused += 1
                if unused > FREE_LINES and unused > 10 * len(self.columns):
                    raise too_sparse(self._name)
                continue
            if len(cells) <= needed:
                self.tally.repair(English("line with too few cells left out"), line)
                continue
            if pairs and len(cells) == width + 1:
                cells[lat_at : lat_at + 2] = [", ".join(cells[lat_at : lat_at + 2])]
                self.tally.repair(TWO_CELLS, line)
            if len(cells) > width and any(cell.strip() for cell in cells[width:]):
                hint = (
                    "; decimal commas need quotes, or semicolons between the columns"
                    if separator == ","
                    else ""
                )
                raise self.tally.error(f"{len(cells)} cells under {width} headings{hint}", line)
            if segment_at >= 0 and len(cells) > segment_at and cells[segment_at] != segment:
                segment = cells[segment_at]
                self.columns.start_segment()
            if pairs:
                lat, lon = pairs.read(cells[lat_at], line, len(places))
            else:
                try:
                    lat, lon = float(cells[lat_at]), float(cells[lon_at])
                except ValueError:
                    lat = self._angle(cells[lat_at], line)
                    lon = self._angle(cells[lon_at], line)
            if "ns" in where and len(cells) > where["ns"]:
                lat = -abs(lat) if cells[where["ns"]].strip().upper() == "S" else lat
            if "ew" in where and len(cells) > where["ew"]:
                lon = -abs(lon) if cells[where["ew"]].strip().upper() == "W" else lon
            written = cells[time_at] if time_at >= 0 else cells[date_at]
            if date_at >= 0 and time_at >= 0 and cells[date_at].strip():
                written = f"{cells[date_at].strip()} {written.strip()}"
            if written[4:5] == "-":
                add_time(instant(written))
            else:
                add_time(self._time(written, instant))
            add_lat(lat)
            add_lon(lon)
            add_place(line)
            for add, name, index, factor in others:
                try:
                    add(float(cells[index]) * factor)
                except (ValueError, IndexError):
                    add(self._value(cells[index : index + 1], name, line) * factor)
            if len(places) > MAX_POINTS:
                raise too_many(self._name)
        for name, column in (("lat", columns.latitude_deg), ("lon", columns.longitude_deg)):
            if (factor := self.where[name][1].factor) != 1.0:
                column[:] = array("d", (value * factor for value in column))
        for column in columns.height_m, columns.speed_m_s, columns.accuracy_m, columns.hdop:
            column.extend(array("d", [NAN]) * (len(columns) - len(column)))

    def _whole(self, rows: CsvRows, header_line: int) -> Iterator[list[str]]:
        """The rows, refused where a quotation mark that is not closed swallows the lines below."""
        before = 0
        try:
            for cells in rows:
                if rows.line_num > before + LINES_OF_A_ROW:
                    break
                before = rows.line_num
                yield cells
            else:
                return
        except csv.Error:
            pass
        raise self.tally.error("a quotation mark is not closed", header_line + before + 1)

    def _time(self, text: str, instant: Callable[[str], float]) -> float:
        try:
            return from_epoch(number(text))
        except ValueError:
            return instant(text) if text.strip() else NAN

    def _angle(self, text: str, line: int) -> float:
        try:
            value = number(text)
        except ValueError:
            try:
                value = parse_degrees(text)
            except ValueError:
                return NAN
            self.tally.repair(WRITTEN, line)
            return value
        if "," in text:
            self.tally.repair(COMMA, line)
        return value

    def _value(self, cell: list[str], name: str, line: int) -> float:
        """A field that `float` does not read: a decimal comma, or nothing."""
        if not cell or not cell[0].strip():
            return NAN
        try:
            return number(cell[0])
        except ValueError:
            word = "HDOP" if name == "hdop" else name
            self.tally.repair(English("{field} that is no number left out", field=word), line)
            return NAN


CSV = TrackFormat(
    name="CSV",
    recognises=_names_positions,
    read=read_csv_track,
    told_by="anything else with a header",
    holds="columns in any order, named as below; comma, semicolon, tab or bar between them; "
    "`#` begins a comment; up to 60 lines may stand before the header; or a sheet of an .xlsx",
)
