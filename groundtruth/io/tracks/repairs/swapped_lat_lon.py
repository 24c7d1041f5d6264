"""Latitude and longitude exchanged: told by where crops are sown, by speeds, by the time zone."""

from __future__ import annotations

import re
import zoneinfo
from importlib import resources
from importlib.util import find_spec
from math import asin, cos, radians, sin, sqrt
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from ....core.language import English
from ..fix_arrays import Array, Fixes

if TYPE_CHECKING:
    from ....core.track import Track

FARTHEST_DEG = 72.0
"""No crop is sown nearer to a pole; Europe's mainland ends at 71.2° N."""
FAR_M, NEAR_M = 3_000_000.0, 2_000_000.0
"""As read at least so far from the zone's city and, exchanged, at most so far: worth a warning."""
_ISO_6709 = re.compile(r"([+-]\d{2})(\d{2})(?:\d{2})?([+-]\d{3})(\d{2})(?:\d{2})?")


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
        raise fixes.error(
            f"every latitude is beyond {FARTHEST_DEG:.0f}°, where nothing is sown; latitude and "
            "longitude look swapped: exchange them",
            polar,
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
        raise fixes.tally.error(
            "the reported speeds fit the positions only with latitude and longitude exchanged; "
            "exchange them"
        )


def far_from_zone(track: Track, time_zone: str) -> str:
    """A warning if the track lies near the time zone's city only when exchanged, else ""."""
    city = city_of(time_zone)
    if city is None:
        return ""
    here = float(np.median(track.longitude_deg)), float(np.median(track.latitude_deg))
    as_read = _distance_m(here, city)
    exchanged = _distance_m(here[::-1], city)
    if as_read < FAR_M or exchanged > NEAR_M:
        return ""
    return English(
        "{far:.0f} km from {zone}, and {near:.0f} km if latitude and longitude are exchanged; "
        "check which is which",
        far=as_read / 1000,
        near=exchanged / 1000,
        zone=time_zone,
    )


def city_of(time_zone: str) -> tuple[float, float] | None:
    """Longitude and latitude of a time zone's city in the zone database's zone.tab. [°]"""
    folders = [Path(folder) for folder in zoneinfo.TZPATH]
    if find_spec("tzdata"):
        folders.append(Path(str(resources.files("tzdata") / "zoneinfo")))
    table = next((one for folder in folders if (one := folder / "zone.tab").is_file()), None)
    for line in table.read_text(encoding="utf-8").splitlines() if table else ():
        fields = line.split("\t")  # country, coordinates, name
        if len(fields) > 2 and fields[2] == time_zone:
            lat, lat_minutes, lon, lon_minutes = _ISO_6709.fullmatch(fields[1]).groups()  # type: ignore[union-attr] # the database's own notation
            return _degrees(lon, lon_minutes), _degrees(lat, lat_minutes)
    return None


def _degrees(whole: str, minutes: str) -> float:
    return float(whole) + float(whole[0] + minutes) / 60


def _distance_m(one: tuple[float, float], other: tuple[float, float]) -> float:
    """Distance of two places on a sphere by the haversine formula, ∞ if one is none. [m]"""
    if abs(one[1]) > 90 or abs(other[1]) > 90:
        return float("inf")
    lon_1, lat_1, lon_2, lat_2 = (radians(angle) for angle in (*one, *other))
    half = sin((lat_2 - lat_1) / 2) ** 2
    half += cos(lat_1) * cos(lat_2) * sin((lon_2 - lon_1) / 2) ** 2
    return 2 * 6_371_000 * asin(sqrt(min(1.0, half)))
