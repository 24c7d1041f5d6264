"""Latitude and longitude exchanged: told by where crops are sown, by speeds, by other places."""

from __future__ import annotations

import contextlib
import zoneinfo
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from ....core.errors import TrackFileError
from ..fix_arrays import Array, Fixes

if TYPE_CHECKING:
    from ....core.track import Track

FARTHEST_DEG = 72.0
"""No crop is sown nearer to a pole; Europe's mainland ends at 71.2° N."""
FAR_M, NEAR_M = 3_000_000.0, 2_000_000.0
"""As read at least so far from the zone's city and, exchanged, at most so far: worth a warning."""
APART_M, TOGETHER_M = 1_000_000.0, 100_000.0
"""The same between the files of one day, which is refused."""


def refuse_polar(fixes: Fixes) -> None:
    """Refuse positions that all lie where nothing grows, unless exchanged.

    Raises
    ------
    TrackFileError : every latitude is beyond 72° (but could be a longitude), and every longitude
        is not.
    """
    latitude = np.abs(fixes.latitude)
    polar = (latitude > FARTHEST_DEG) & (latitude <= 180)
    if len(fixes) and polar.all() and (np.abs(fixes.longitude) <= FARTHEST_DEG).all():
        raise TrackFileError(
            f"{fixes.where(polar)}: every latitude is beyond {FARTHEST_DEG:.0f}°, where nothing is "
            "sown; latitude and longitude look swapped: exchange them"
        )


def refuse_by_speed(fixes: Fixes, ratio: Array, exchanged: Array) -> None:
    """Refuse a track whose reported speeds fit its positions only with them exchanged.

    ``ratio`` is the reported speed over that of the positions in each of many windows,
    ``exchanged`` the same with latitude and longitude exchanged. A degree of longitude is shorter
    than one of latitude by the cosine of the latitude, so that exchanging them changes lengths.

    Raises
    ------
    TrackFileError : as read they differ by over 15 % on average, exchanged by less than 7 %.
    """
    as_read, other = (float(np.abs(np.log(one)).mean()) for one in (ratio, exchanged))
    if as_read > 0.15 and other < 0.07:
        raise TrackFileError(
            f"{fixes.tally.name}: the reported speeds fit the positions only with latitude and "
            "longitude exchanged; exchange them"
        )


def refuse_apart(one: Track, other: Track, names: tuple[str, str]) -> None:
    """Refuse two files of one day that are far apart as they are, but near with one exchanged.

    Raises
    ------
    TrackFileError : they lie more than 1000 km apart, and exchanged less than 100 km.
    """
    here, there = _middle(one), _middle(other)
    if _far(here, there) > APART_M and _far(here[::-1], there) < TOGETHER_M:
        raise TrackFileError(
            f"{names[0]} and {names[1]} lie together only with latitude and longitude exchanged "
            "in one of them; exchange them there"
        )


def far_from_zone(track: Track, time_zone: str) -> str:
    """A warning if the track lies near the time zone's city only when exchanged, else ""."""
    city = city_of(time_zone)
    if city is None:
        return ""
    here = _middle(track)
    as_read, exchanged = _far(here, city), _far(here[::-1], city)
    if as_read < FAR_M or exchanged > NEAR_M:
        return ""
    return (
        f"{as_read / 1000:.0f} km from {time_zone}, and {exchanged / 1000:.0f} km if latitude and "
        "longitude are exchanged; check which is which"
    )


def city_of(time_zone: str) -> tuple[float, float] | None:
    """Longitude and latitude of the city of a time zone, by the zone database's zone.tab. [°]"""
    places: list[Path | Traversable] = [Path(folder) for folder in zoneinfo.TZPATH]
    with contextlib.suppress(ModuleNotFoundError):
        places.append(resources.files("tzdata") / "zoneinfo")
    for place in places:
        try:
            lines = (place / "zone.tab").read_text(encoding="utf-8").splitlines()
        except OSError:
            continue
        for line in lines:
            fields = line.split("\t")
            if len(fields) > 2 and fields[2] == time_zone:
                return _iso6709(fields[1])
        return None
    return None


def _iso6709(written: str) -> tuple[float, float]:
    """Longitude and latitude of "+5955+01045" or "+404251-0740023"."""
    cut = max(written.rfind("+"), written.rfind("-"))
    lat, lon = written[:cut], written[cut:]

    def degrees(text: str, width: int) -> float:
        parts = (text[1 : 1 + width], text[1 + width : 3 + width], text[3 + width :] or "0")
        size = float(parts[0]) + float(parts[1]) / 60 + float(parts[2]) / 3600
        return -size if text[0] == "-" else size

    return degrees(lon, 3), degrees(lat, 2)


def _middle(track: Track) -> tuple[float, float]:
    return float(np.median(track.longitude_deg)), float(np.median(track.latitude_deg))


def _far(one: tuple[float, float], other: tuple[float, float]) -> float:
    """Distance of two places on a sphere. [m]"""
    if abs(one[1]) > 90 or abs(other[1]) > 90:
        return float("inf")
    lon_1, lat_1, lon_2, lat_2 = np.radians((*one, *other))
    chord = np.hypot(
        np.cos(lat_1) * np.cos(lon_1) - np.cos(lat_2) * np.cos(lon_2),
        np.hypot(
            np.cos(lat_1) * np.sin(lon_1) - np.cos(lat_2) * np.sin(lon_2),
            np.sin(lat_1) - np.sin(lat_2),
        ),
    )
    return float(2 * 6_371_000 * np.arcsin(min(1.0, chord / 2)))
