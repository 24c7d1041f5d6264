"""Beds as a GPX file, so that they can be found again in the field with any phone.

GPX 1.1, written by gpxpy: each bed's corners are waypoints, its centre line is a route.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..core.beds import BlockBed
from ..core.plane import Plane
from ..core.safe_text import visible
from .writing import sealed

_WINDS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")
_NAME, _DECIMALS = 40, 8
_ABOUT = (
    "Beds as laid out from tracks of a phone. All may lie some metres off together: find one bed "
    "by eye and count on from it. Nothing to dig or steer by."
)


def gpx_of_beds(beds: Sequence[BlockBed]) -> str:
    """The GPX 1.1 text of beds: four waypoints and a route of two points for each.

    A corner is called by its bed and the end and side that it lies on, as in "A3 N end, E side".
    """
    from gpxpy.gpx import GPX, GPXRoute, GPXRoutePoint, GPXWaypoint

    gpx = GPX()
    gpx.creator, gpx.name, gpx.description = "groundtruth", "Beds", _ABOUT
    for bed in beds:
        name, block = visible(bed.name, _NAME), visible(bed.block, _NAME)
        corners = np.array(bed.outline.exterior.coords)[:4]  # low end left, right; high right, left
        ends = corners.reshape(2, 2, 2).mean(axis=1)
        bearing_deg = _bearing_deg(*ends)
        low, high, left, right = (_wind(bearing_deg + turn) for turn in (180, 0, -90, 90))
        called = ((low, left), (low, right), (high, right), (high, left))
        for (lon, lat), (end, side) in zip(corners.tolist(), called, strict=True):
            corner = GPXWaypoint(round(lat, _DECIMALS), round(lon, _DECIMALS))
            corner.name = f"{name} {end} end, {side} side"
            corner.description = f"Corner of bed {name}, block {block}"
            gpx.waypoints.append(corner)
        route = GPXRoute(name=name, description=f"Centre line of bed {name}, block {block}")
        for lon, lat in ends.tolist():
            route.points.append(GPXRoutePoint(round(lat, _DECIMALS), round(lon, _DECIMALS)))
        gpx.routes.append(route)
    return sealed(str(gpx.to_xml(version="1.1")) + "\n")


def _bearing_deg(start: np.ndarray, end: np.ndarray) -> float:
    """From one position to another near by, clockwise from north. [degree]"""
    plane = Plane(longitude_deg=round(float(start[0]), 1), latitude_deg=round(float(start[1]), 1))
    east, north = plane.to_metres(*np.array([start, end]).T)
    return float(np.degrees(np.arctan2(np.diff(east), np.diff(north)))[0])


def _wind(bearing_deg: float) -> str:
    """The nearest of the eight winds."""
    return _WINDS[round(bearing_deg / 45) % 8]
