"""Written instants to seconds since 1970-01-01 UTC. A missing time zone is never guessed.

Accepted: ISO 8601 dates and times ("2026-04-01T06:41:07.250Z", "2026-04-01 08:41 +02:00"), dotted
dates (day.month.year, as DIN 5008 writes them), and dates with slashes where one of the first two
numbers is above 12; "am" and "pm".
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo
from typing import Literal
from zoneinfo import ZoneInfo

from ..core.errors import InputError
from ..core.language import English
from ..core.safe_text import clean
from ..core.written import did_you_mean

_TIME = r"(\d{1,2})(?::?(\d{2}))(?::?(\d{2})(?:[.,](\d{1,9}))?)?\s*([AaPp]\.?[Mm]\.?)?"
_ZONE = (
    r"(?:\s*\(?(Z|z|(?:UTC|GMT)(?:\s*[+-]\d{1,2}(?::?\d{2})?)?|[+-]\d{2}(?::?\d{2})?"
    r"|[A-Z]{3,5})\)?)?"
)
_ISO = re.compile(rf"(\d{{4}})-?(\d{{2}})-?(\d{{2}})(?:[Tt]|\s+|\s*[,;]\s*){_TIME}{_ZONE}", re.A)
_LOCAL = re.compile(
    rf"(\d{{1,4}})([./-])(\d{{1,2}})\2(\d{{1,4}})(?:[Tt]|,?\s+){_TIME}{_ZONE}", re.A
)
_CLOCK = re.compile(rf"{_TIME}{_ZONE}", re.A)
DateOrder = Literal["day first", "month first"]
"""Which number of a date such as 05/12/2026 is the day."""
DATE_ORDERS: tuple[DateOrder, DateOrder] = ("day first", "month first")
ZONES = {
    "UTC": 0,
    "GMT": 0,
    "EST": -5,
    "EDT": -4,
    "CST": -6,
    "CDT": -5,
    "MST": -7,
    "MDT": -6,
    "PST": -8,
    "PDT": -7,
    "WET": 0,
    "WEST": 1,
    "CET": 1,
    "CEST": 2,
    "MEZ": 1,
    "MESZ": 2,
    "EET": 2,
    "EEST": 3,
    "AKST": -9,
    "AKDT": -8,
    "NZST": 12,
    "NZDT": 13,
    "AEST": 10,
    "AEDT": 11,
    "AWST": 8,
}
"""Hours from UTC of zones by their letters: the first ten by RFC 5322, 4.3; the others by the IANA
time zone database (from memory). BST, IST and the like name several zones and are not known."""
_EPOCH_DAY = date(1970, 1, 1).toordinal()


class AmbiguousDate(ValueError):
    """A date of which nobody can say which number is the day."""


@dataclass(frozen=True, slots=True)
class Instant:
    """A written instant.

    ``seconds`` since 1970 UTC, or by the wall clock where ``zoned`` is False; ``day_known`` is
    False for a time of day alone. ``resolution_s`` is the smallest step written, ``remark`` says
    what had to be repaired.
    """

    seconds: float
    zoned: bool
    day_known: bool
    resolution_s: float
    remark: str = ""


def _day(year: int, month: int, day: int) -> int:
    return (date(year, month, day).toordinal() - _EPOCH_DAY) * 86400


def _slashed(first: str, mark: str, second: str, third: str, order: DateOrder | None) -> int:
    if len(first) == 4:  # 2026/04/01, the ISO order with other marks
        return _day(int(first), int(second), int(third))
    if len(third) != 4:
        raise AmbiguousDate("the year of a date needs four digits, as in 2026-04-01")
    one, two, year = int(first), int(second), int(third)
    if mark == "." or one > 12 or one == two or (order == "day first" and two <= 12):
        return _day(year, two, one)
    if two > 12 or order == "month first":
        return _day(year, one, two)
    raise AmbiguousDate(
        f"{first}{mark}{second}{mark}{third} can be two different days; "
        f"write {year}-{two:02d}-{one:02d} or {year}-{one:02d}-{two:02d}"
    )


def parse_instant(text: str, order: DateOrder | None = None) -> Instant | None:
    """The instant that ``text`` writes, or None if it writes none.

    ``order`` says which number of a date with slashes is the day, None where it has to tell itself.

    Raises
    ------
    AmbiguousDate : day and month cannot be told apart.
    """
    text = text.strip().replace("−", "-")
    if len(text) > 60:
        return None
    try:
        if match := _ISO.fullmatch(text):
            base, rest = _day(*(int(part) for part in match.groups()[:3])), match.groups()[3:]
        elif match := _LOCAL.fullmatch(text):
            first, mark, second, third = match.groups()[:4]
            base, rest = _slashed(first, mark, second, third, order), match.groups()[4:]
        elif match := _CLOCK.fullmatch(text):
            base, rest = None, match.groups()
            if ":" not in text:
                return None
        else:
            return None
        return _instant(base, *rest)
    except AmbiguousDate:
        raise
    except ValueError:  # the 31st of February
        return None


def _instant(
    base: int | None,
    hour_text: str,
    minute_text: str,
    second_text: str | None,
    fraction: str | None,
    half: str | None,
    zone: str | None,
) -> Instant | None:
    hour, minute, second = int(hour_text), int(minute_text), int(second_text or 0)
    remark = ""
    if half:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if half[0] in "pP" else 0)
    if hour == 24 and minute == second == 0:
        remark = English("24:00 read as 00:00 of the next day")
    elif second == 60 and hour < 24:
        remark = English("second 60 read as the next minute's 0")
    elif hour > 23:
        return None
    if minute > 59 or second > 60:
        return None
    shift = _offset_s(zone or "Z")
    if shift is None:
        return None
    seconds = float((base or 0) + hour * 3600 + minute * 60 + second - shift)
    if fraction:
        seconds += float("0." + fraction)
    resolution = 10.0 ** -len(fraction) if fraction else 1.0 if second_text else 60.0
    return Instant(seconds, bool(zone), base is not None, resolution, remark)


def _offset_s(zone: str) -> int | None:
    """Seconds ahead of UTC of a written zone ("+02:00", "GMT+2", "CEST"), None if it is none."""
    if match := re.fullmatch(r"(?:UTC|GMT)?\s*([+-])(\d{1,2})(?::?(\d{2}))?", zone, re.A):
        shift = int(match[2]) * 3600 + int(match[3] or 0) * 60
        if shift > 16 * 3600:
            return None
        return -shift if match[1] == "-" else shift
    return 0 if zone in "Zz" else None if zone not in ZONES else round(ZONES[zone] * 3600)


def local_day(time_s: float, zone: tzinfo) -> date:
    """The calendar day of an instant (s since 1970 UTC) in a time zone."""
    return datetime.fromtimestamp(time_s, zone).date()


def zone_named(name: str, fail: Callable[[str], InputError]) -> ZoneInfo:
    """The time zone of that name.

    Raises
    ------
    InputError : there is none of that name; ``fail`` makes the error of its words.
    """
    import zoneinfo

    try:
        if not name or name.startswith(("/", ".")):
            raise ValueError
        return ZoneInfo(name)
    except (ValueError, OSError, zoneinfo.ZoneInfoNotFoundError):
        # "EST" and the like know no summer time, and are never what is meant
        known = sorted(one for one in zoneinfo.available_timezones() if "/" in one or one == "UTC")
        if not known:
            raise fail(
                "this computer has no database of time zones; python -m pip install tzdata"
            ) from None
        lower = {zone.lower(): zone for zone in known}
        hint = did_you_mean(name, list(lower))
        for zone in lower:
            if zone in hint:
                hint = hint.replace(f" {zone}?", f" {lower[zone]}?")
        raise fail(
            f"time_zone {clean(name, 60)!r} is not known{hint or '; write for example Europe/Oslo'}"
        ) from None


class LocalTimeError(ValueError):
    """A wall-clock time that occurs twice, or never, in its zone."""


def to_utc(wall_s: float, zone: tzinfo) -> float:
    """Seconds since 1970 UTC of a wall-clock time given as if it were UTC.

    Raises
    ------
    LocalTimeError : the clocks were changed there, so that it occurs twice or never.
    """
    whole = int(wall_s // 1)
    wall = datetime(1970, 1, 1) + timedelta(seconds=whole)  # noqa: DTZ001 - a wall clock has no zone
    offsets = {moment.utcoffset() for moment in (wall.replace(tzinfo=zone, fold=f) for f in (0, 1))}
    answers = [
        whole - offset.total_seconds()
        for offset in offsets
        if offset is not None
        and datetime.fromtimestamp(whole - offset.total_seconds(), UTC)
        .astimezone(zone)
        .replace(tzinfo=None)
        == wall
    ]
    if len(answers) == 1:
        return answers[0] + (wall_s - whole)
    shown = f"{wall:%Y-%m-%d %H:%M}"
    if answers:
        raise LocalTimeError(
            f"{shown} occurs twice in {zone}, as the clocks were set back; "
            "write it with its offset, as in 02:30+02:00"
        )
    raise LocalTimeError(
        f"{shown} never was in {zone}, as the clocks were set forward; check the time"
    )
