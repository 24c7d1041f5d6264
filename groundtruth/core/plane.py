"""A local metric plane about a track. The only module that uses pyproj.

Transverse Mercator on the WGS 84 ellipsoid with scale 1 on the meridian through the middle of the
track (formulas: EPSG guidance note 7-2, method 9807). Off that meridian the scale grows as
1 + x²/(2R²): 0.3 mm per km at 5 km, so distances in the plane are ground distances for any farm.
Heights above the ellipsoid lengthen the ground by 1 + h/R, see `height_factor`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .track import Track

if TYPE_CHECKING:
    from pyproj import Transformer

Array = NDArray[np.float64]

WGS84_A_M = 6_378_137.0
"""Semi-major axis of the WGS 84 ellipsoid, m; defining constant (NGA.STND.0036, table 3.1)."""
WGS84_F = 1 / 298.257223563
"""Flattening of the WGS 84 ellipsoid; defining constant (NGA.STND.0036, table 3.1)."""


@lru_cache(maxsize=32)
def _transformer(longitude_deg: float, latitude_deg: float) -> Transformer:
    from pyproj import Transformer  # 70 ms to import, so only when something is projected

    plane = (
        f"+proj=tmerc +lon_0={longitude_deg!r} +lat_0={latitude_deg!r} +k_0=1 "
        "+ellps=WGS84 +units=m +type=crs"
    )
    return Transformer.from_crs("+proj=longlat +ellps=WGS84 +type=crs", plane, always_xy=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plane:
    """East and north in metres about an origin in degrees (longitude first)."""

    longitude_deg: float
    latitude_deg: float

    def to_metres(self, longitude_deg: ArrayLike, latitude_deg: ArrayLike) -> tuple[Array, Array]:
        """East and north [m] of positions in degrees; shapes are kept."""
        east, north = _transformer(self.longitude_deg, self.latitude_deg).transform(
            np.asarray(longitude_deg, dtype=float), np.asarray(latitude_deg, dtype=float)
        )
        return np.asarray(east), np.asarray(north)

    def to_degrees(self, east_m: ArrayLike, north_m: ArrayLike) -> tuple[Array, Array]:
        """Longitude and latitude [degree] of plane positions; shapes are kept."""
        lon, lat = _transformer(self.longitude_deg, self.latitude_deg).transform(
            np.asarray(east_m, dtype=float), np.asarray(north_m, dtype=float), direction="INVERSE"
        )
        return np.asarray(lon), np.asarray(lat)


@dataclass(frozen=True, slots=True)
class Axis:
    """A direction in the plane as a unit vector; across counts to its right."""

    east: float
    north: float

    @classmethod
    def towards(cls, bearing_deg: float) -> Axis:
        """The axis of a bearing, clockwise from north. [degree]"""
        angle = np.radians(bearing_deg)
        return cls(float(np.sin(angle)), float(np.cos(angle)))

    @property
    def bearing_deg(self) -> float:
        """Clockwise from north, from 0 to 360. [degree]"""
        return float(np.degrees(np.arctan2(self.east, self.north)) % 360)

    @property
    def opposite(self) -> Axis:
        """The axis the other way."""
        return Axis(-self.east, -self.north)

    def along(self, east: ArrayLike, north: ArrayLike) -> Array:
        """How far places, or how fast velocities, reach along the axis; shapes are kept."""
        return np.asarray(self.east * np.asarray(east) + self.north * np.asarray(north))

    def across(self, east: ArrayLike, north: ArrayLike) -> Array:
        """How far places, or how fast velocities, reach to the right of the axis."""
        return np.asarray(self.north * np.asarray(east) - self.east * np.asarray(north))

    def from_origin(self, along: ArrayLike, across: ArrayLike) -> tuple[Array, Array]:
        """East and north of what lies ``along`` the axis and ``across`` to its right."""
        ahead, right = np.asarray(along), np.asarray(across)
        east = self.east * ahead + self.north * right
        return np.asarray(east), np.asarray(self.north * ahead - self.east * right)


def plane_about(track: Track) -> Plane:
    """The plane centred on the middle of the track's extent.

    A track that crosses the 180° meridian is centred on its first fix.
    """
    lon, lat = track.longitude_deg, track.latitude_deg
    middle = float(lon[0]) if np.ptp(lon) > 180 else float((lon.min() + lon.max()) / 2)
    return Plane(longitude_deg=middle, latitude_deg=float((lat.min() + lat.max()) / 2))


def height_factor(height_m: float, latitude_deg: float) -> float:
    """Ground length at a height over length on the ellipsoid, 1 + h/R. [-]

    R is the mean of the radii of curvature in the meridian and the prime vertical
    (Torge & Müller, *Geodesy*, 4th ed., 4.1.3, from memory); the difference between directions is
    under 0.5 % of a term that is itself under 0.05 % below 3000 m.
    """
    e2 = WGS84_F * (2 - WGS84_F)
    w2 = 1 - e2 * np.sin(np.radians(latitude_deg)) ** 2
    meridian = WGS84_A_M * (1 - e2) / w2**1.5
    vertical = WGS84_A_M / w2**0.5
    return float(1 + height_m / ((meridian + vertical) / 2))
