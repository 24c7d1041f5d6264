"""NMEA 0183 logs: RMC, GGA and VTG of any talker, with checksums, midnight and glued sentences.

Field layout as in NMEA 0183 (IEC 61162-1), from memory; checked against published example
sentences in the tests. A sentence with a wrong checksum changes nothing.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from datetime import date, tzinfo
from functools import reduce
from operator import xor

from ....core.language import English
from ....core.units import KM_PER_HOUR, KNOT
from ...decoding import encoding_of
from ...files import Source
from ..raw_fixes import FREE_LINES, NAN, FixColumns, TrackTally, too_sparse
from ..track_format import Head, TrackFormat

LINE_BYTES = 4096
DAY_S = 86_400.0
_KINDS = frozenset((b"RMC", b"GGA", b"VTG"))
_SENTENCE = re.compile(r"[$][A-Z]{2}(?:RMC|GGA|VTG|GSA|GSV|GLL|GNS|ZDA|GST|TXT),")
_WRONG_CHECKSUM = English("sentence with a wrong checksum left out")
_UNREADABLE = English("sentence that cannot be read left out")
_NO_FIX = English("sentence without a fix left out")
_HALVES = (512, 256, 128, 64, 32, 16, 8)


def read_nmea_track(source: Source, zone: tzinfo | None = None) -> FixColumns:
    """One fix for each instant, put together from the sentences of that instant.

    Times are UTC whatever ``zone`` is. The day comes from RMC; GGA, which has none, takes the day
    that puts it within 12 hours of the last RMC. Heights are those of GGA, above mean sea level.
    """
    reader = _Reader(source.name)
    for line_number, line in enumerate(_lines(source.data), start=1):
        if line_number > FREE_LINES and line_number > 100 * len(reader.columns):
            raise too_sparse(source.name)
        for sentence in line.split(b"$")[1:]:
            reader.take(sentence, line_number)
    return reader.finish()


def _lines(data: bytes) -> Iterator[bytes]:
    """Lines of bounded length; an editor may have saved the log as UTF-16."""
    stream = io.BytesIO(data)
    encoding = encoding_of(data)
    if encoding is None or encoding == "utf-8":
        while line := stream.readline(LINE_BYTES):
            yield line
        return
    text = io.TextIOWrapper(stream, encoding, errors="replace", newline="")
    while written := text.readline(LINE_BYTES):
        yield written.encode("latin-1", errors="replace")


def checksum(body: bytes) -> int:
    """Exclusive or of all bytes between $ and *."""
    if len(body) > 128:
        return reduce(xor, body, 0)
    folded = int.from_bytes(body, "big")  # halves laid over each other, four times as fast
    for half in _HALVES:
        folded ^= folded >> half
    return folded & 0xFF


class _Reader:
    """The instant being put together, and the columns."""

    def __init__(self, name: str) -> None:
        self.columns = FixColumns(TrackTally(name, "line"))
        self.columns.start_segment()
        self._tally = self.columns.tally
        self._day: int | None = None  # s since 1970 at the last RMC's midnight
        self._last_rmc_s = NAN
        self._days: dict[str, int] = {}  # "ddmmyy" → s since 1970 at its midnight
        self._undated = 0  # rows before the first RMC
        self._read_clock: tuple[str, float] = ("", NAN)
        self._read_place: tuple[list[str], tuple[float, float]] = ([], (NAN, NAN))
        self._clear(NAN, 0)
        self._sentences = 0

    def _clear(self, clock_s: float, line: int) -> None:
        self._clock_s, self._line = clock_s, line
        self._lat = self._lon = self._height = self._speed = self._hdop = self._quality = NAN

    def take(self, sentence: bytes, line: int) -> None:
        """Use one sentence (without its $), or count why not."""
        kind = sentence[2:5]
        if kind not in _KINDS or sentence[5:6] != b",":
            return
        body, star, rest = sentence.partition(b"*")
        if star:
            try:
                right = int(rest[:2], 16) == checksum(body) and len(rest) > 1
            except ValueError:
                right = False
            if not right:
                self._tally.repair(_WRONG_CHECKSUM, line)
                return
        else:
            body = body.rstrip(b"\r\n\0 ")
        fields = body.decode("latin-1").split(",")
        self._sentences += 1
        try:
            if kind == b"RMC":
                self._rmc(fields, line)
            elif kind == b"GGA":
                self._gga(fields, line)
            else:
                self._vtg(fields)
        except (ValueError, IndexError):
            self._tally.repair(_UNREADABLE, line)

    def _rmc(self, fields: list[str], line: int) -> None:
        if fields[2] != "A" or not fields[1]:
            self._tally.repair(_NO_FIX, line)
            return
        clock_s = self._clock(fields[1])
        lon, lat = self._place(fields[3:7])
        day = self._days.get(fields[9]) or self._midnight(fields[9])
        speed = float(fields[7]) * KNOT.value if fields[7] else NAN
        # everything is read; only now does anything change
        self._at(clock_s, line)
        if self._day is None:
            self._date_earlier_rows(day + clock_s)
        self._day, self._last_rmc_s = day, day + clock_s
        self._lat, self._lon, self._speed = lat, lon, speed

    def _clock(self, written: str) -> float:
        """Seconds since midnight; the sentences of one instant repeat it letter by letter."""
        if written != self._read_clock[0]:
            self._read_clock = written, _clock(written)
        return self._read_clock[1]

    def _place(self, written: list[str]) -> tuple[float, float]:
        """Longitude and latitude; they are repeated too."""
        if written != self._read_place[0]:
            lat = _angle(written[0], written[1], "NS")
            self._read_place = written, (_angle(written[2], written[3], "EW"), lat)
        return self._read_place[1]

    def _midnight(self, written: str) -> int:
        """Seconds since 1970 at the beginning of the day "ddmmyy"."""
        if len(written) != 6 or not written.isdecimal():
            raise ValueError(written)
        year = int(written[4:])
        full = date(2000 + year if year < 80 else 1900 + year, int(written[2:4]), int(written[:2]))
        day = (full - date(1970, 1, 1)).days * 86_400
        if len(self._days) < 1000:
            self._days[written] = day
        return day

    def _gga(self, fields: list[str], line: int) -> None:
        if not fields[1] or fields[6] in ("0", ""):
            self._tally.repair(_NO_FIX, line)
            return
        clock_s = self._clock(fields[1])
        lon, lat = self._place(fields[2:6])
        hdop = float(fields[8]) if fields[8] else NAN
        height = float(fields[9]) if fields[9] else NAN
        quality = float(fields[6]) if fields[6].isdecimal() else NAN
        self._at(clock_s, line)
        self._lat, self._lon, self._hdop, self._height = lat, lon, hdop, height
        self._quality = quality

    def _vtg(self, fields: list[str]) -> None:
        if self._clock_s != self._clock_s or self._speed == self._speed:
            return
        if len(fields) > 7 and fields[7]:
            self._speed = float(fields[7]) * KM_PER_HOUR.value
        elif fields[5]:
            self._speed = float(fields[5]) * KNOT.value

    def _at(self, clock_s: float, line: int) -> None:
        if clock_s != self._clock_s:
            self._emit()
            self._clear(clock_s, line)

    def _emit(self) -> None:
        if self._lat != self._lat:
            return
        if self._day is None:
            time_s = self._clock_s
            self._undated += 1
        else:
            time_s = self._day + self._clock_s
            time_s -= DAY_S * round((time_s - self._last_rmc_s) / DAY_S)
        self.columns.append(
            time_s,
            self._lon,
            self._lat,
            self._height,
            self._speed,
            NAN,
            self._hdop,
            self._line,
        )
        self.columns.fix_quality.append(self._quality)

    def _date_earlier_rows(self, rmc_s: float) -> None:
        times = self.columns.time_s
        before = rmc_s
        for row in range(self._undated - 1, -1, -1):
            ahead = round((before - times[row]) / DAY_S)
            times[row] += ahead * DAY_S
            before = times[row]
        self._undated = 0

    def finish(self) -> FixColumns:
        self._emit()
        if self._day is None and len(self.columns):
            self.columns.time_s[:] = type(self.columns.time_s)("d", [NAN]) * len(self.columns)
            self.columns.untimed = (
                "its sentences carry no date (no RMC); log RMC sentences too, or export as GPX"
            )
        if not len(self.columns):
            self.columns.nothing = (
                "its sentences hold no fix (RMC or GGA)"
                if self._sentences
                else "holds no RMC or GGA sentence"
            )
        return self.columns


def _clock(text: str) -> float:
    """Seconds since midnight of "hhmmss.ss"."""
    if not text[:6].isdecimal():
        raise ValueError(text)
    hour, minute, second = int(text[:2]), int(text[2:4]), float(text[4:])
    if hour > 23 or minute > 59 or not second < 61:
        raise ValueError(text)
    return hour * 3600.0 + minute * 60 + second


def _angle(text: str, side: str, sides: str) -> float:
    """Degrees of "ddmm.mmmm" and its side."""
    size = float(text)
    degrees = size // 100
    minutes = size - 100 * degrees
    if side not in sides or not side or not (0 <= minutes < 60) or not text[0].isdecimal():
        raise ValueError(text)
    value = degrees + minutes / 60
    return -value if side == sides[1] else value


def _recognises(head: Head) -> bool:
    return not head.root and bool(_SENTENCE.search(head.text))


NMEA = TrackFormat(
    name="NMEA 0183",
    recognises=_recognises,
    read=read_nmea_track,
    told_by="sentences that begin with `$`",
    holds="RMC, GGA (its quality 4 or 5 tells a centimetre receiver), and VTG where RMC has no "
    "speed, of any talker; text before a `$` is passed over",
)
