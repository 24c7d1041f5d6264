"""The clock of one track file: written or counted times to seconds since 1970 UTC."""

from __future__ import annotations

from collections.abc import Callable
from datetime import tzinfo

from ..timestamps import AmbiguousDate, LocalTimeError, parse_instant, to_utc
from .raw_fixes import EARLIEST_S, LATEST_S, NAN, TrackTally

_EPOCH_STEPS = (1.0, 1e3, 1e6, 1e9)  # seconds, milli-, micro- and nanoseconds since 1970


def from_epoch(value: float) -> float:
    """Seconds since 1970 UTC of a count of s, ms, µs or ns, or NaN; the size tells which.

    Counts between 1980 and 2100 in one unit lie outside that range in all others.
    """
    for step in _EPOCH_STEPS:
        if EARLIEST_S <= value / step < LATEST_S:
            return value / step
    return value if value == value and abs(value) < EARLIEST_S else NAN


class TrackClock:
    """Times of one track file to seconds since 1970 UTC, with what was repaired counted.

    Raises
    ------
    TrackFileError : from `seconds`, for a date or a wall-clock time that means two instants, and
        from `check`, if times carry no zone and none was given.
    """

    def __init__(self, zone: tzinfo | None, tally: TrackTally) -> None:
        self._zone, self._tally = zone, tally
        self._offsets: dict[int, float] = {}  # wall-clock quarter hour → offset from UTC
        self._first_unzoned = 0

    def reader(self, place: Callable[[], int], *, utc: bool = False) -> Callable[[str], float]:
        """`seconds` for many texts that follow each other: remembers the minute it is in.

        ``place`` numbers the point or line being read, and is asked only where it matters.
        """
        prefix, base, tail = "", 0.0, ""  # "2026-04-01T06:41:", its second 0, what follows "07"

        def instant(text: str) -> float:
            nonlocal prefix, base, tail
            if text[:17] == prefix:
                try:
                    if text[19:] == tail:
                        second = float(text[17:19])
                    elif text[-1] == "Z" and tail == "Z":
                        second = float(text[17:-1])
                    else:
                        second = -1.0
                except ValueError:
                    second = -1.0
                if 0.0 <= second < 60.0:
                    return base + second
            text = text.strip()
            value = self.seconds(text, place(), utc=utc)
            ending = text[19:] if text[19:20] not in (".", ",") else text[-1]
            if (
                value == value
                and text[16:17] == ":"
                and ending in (text[19:], "Z")
                and text[11:13] < "24"
                and text[17:19].isdecimal()
                and text[17:19] < "60"
            ):  # written as recorders write it
                prefix, tail = text[:17], ending
                base = float(value // 1 - int(text[17:19]))
            return value

        return instant

    def seconds(self, text: str, place: int, *, utc: bool = False) -> float:
        """The instant, or NaN if the text writes none; ``utc`` if the file says its clock is."""
        try:
            instant = parse_instant(text)
            if instant is None or not instant.day_known:
                return NAN
            if instant.remark:
                self._tally.repair(instant.remark, place)
            return instant.seconds if instant.zoned or utc else self.local(instant.seconds, place)
        except (AmbiguousDate, LocalTimeError) as why:
            raise self._tally.error(str(why), place) from None

    def local(self, wall_s: float, place: int) -> float:
        """A wall-clock time, given as if it were UTC, to UTC."""
        if self._zone is None:
            self._first_unzoned = self._first_unzoned or place
            return wall_s
        quarter = int(wall_s // 900)
        if quarter not in self._offsets:
            if len(self._offsets) > 10_000:
                self._offsets.clear()
            start = quarter * 900.0
            self._offsets[quarter] = to_utc(start, self._zone) - start
        return wall_s + self._offsets[quarter]

    def seconds_or_nan(self, text: str) -> float:
        """The instant of a waypoint, or NaN; its time is never a reason to refuse a track."""
        try:
            instant = parse_instant(text)
            if instant is None or not instant.day_known:
                return NAN
            if instant.zoned:
                return instant.seconds
            return NAN if self._zone is None else to_utc(instant.seconds, self._zone)
        except (AmbiguousDate, LocalTimeError):
            return NAN

    def check(self) -> None:
        """Refuse times without zone unless a zone was given."""
        if self._first_unzoned:
            raise self._tally.error(
                "times carry no time zone; say in which zone the recorder's clock ran: "
                'time_zone = "Europe/Oslo" in the run file, or --time-zone Europe/Oslo',
                self._first_unzoned,
            )
