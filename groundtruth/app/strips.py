"""A strip of the track that somebody says is a pass: by its two times, or by two places tapped."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from ..core.errors import InputError
from ..core.safe_text import clean
from ..core.track import Track
from ..io.timestamps import (
    AmbiguousDate,
    LocalTimeError,
    local_day,
    parse_instant,
    to_utc,
    zone_named,
)
from ..passes import Pass
from ..passes.strips import pass_between, strip_between

_DAY_S = 86400.0


@dataclass(frozen=True, slots=True, kw_only=True)
class StripRequest:
    """The two ends of a strip: times as written, or places as (longitude, latitude) in degrees.

    Times without a date lie on the day on which the track begins, or the next; those without a
    zone in ``time_zone``. ``taken`` are passes that places rather do not mean.
    """

    track: Track
    times: tuple[str, str] | None = None
    places: tuple[tuple[float, float], tuple[float, float]] | None = None
    time_zone: str = "UTC"
    taken: Sequence[Pass] = ()
    number: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkedStrip:
    """A strip with the ends that were given (s since 1970 UTC), and what the track shows there."""

    given_s: tuple[float, float]
    found: Pass


def strip_for(request: StripRequest) -> MarkedStrip:
    """The strip as a pass.

    Raises
    ------
    InputError : a time cannot be read.
    MeasureError : there is no such strip, or it is none that can be a pass.
    """
    track = request.track
    if request.places is not None:
        taken = [(p.start.time_s, p.end.time_s) for p in request.taken]
        given = strip_between(track, *request.places, taken)
    else:
        zone = zone_named(request.time_zone or "UTC", InputError)
        one, other = (_instant(text, track, zone) for text in request.times or ("", ""))
        given = one, other
    return MarkedStrip(given_s=given, found=pass_between(track, *given, number=request.number))


def _instant(text: str, track: Track, zone: ZoneInfo) -> float:
    try:
        written = parse_instant(text)
        if written is None:
            raise InputError(f"{clean(text, 40)!r} is no time; write for example 08:41:07")
        wall_s = written.seconds
        if not written.day_known:
            begun_s = float(track.time_s[0])
            day = local_day(begun_s, zone)
            wall_s += (day - date(1970, 1, 1)).days * _DAY_S
        instant_s = wall_s if written.zoned else to_utc(wall_s, zone)
    except (AmbiguousDate, LocalTimeError) as why:
        raise InputError(str(why)) from None
    if not written.day_known and instant_s < track.time_s[0] - _DAY_S / 4:
        instant_s += _DAY_S  # after midnight
    return instant_s
