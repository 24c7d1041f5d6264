"""The local plane against geodesics and published radii."""

from __future__ import annotations

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic

from groundtruth.core.plane import Axis, Plane, height_factor, plane_about

WGS84 = Geodesic.WGS84


@pytest.mark.parametrize("latitude", [-60.0, -37.95, 0.0, 45.0, 52.0, 65.0])
@pytest.mark.parametrize("bearing", [0, 37, 90, 135, 222, 300])
def test_under_a_millimetre_a_kilometre_from_the_geodesic(latitude, bearing):
    """Independent check: GeographicLib (Karney 2013, J. Geodesy 87:43)."""
    plane = Plane(longitude_deg=9.0, latitude_deg=latitude)
    for away in (300.0, 1500.0):  # a field up to 3 km across
        at = WGS84.Direct(latitude, 9.0, bearing, away)
        for along in (0, 60, 120):
            end = WGS84.Direct(at["lat2"], at["lon2"], bearing + along, 1000.0)
            east, north = plane.to_metres([at["lon2"], end["lon2"]], [at["lat2"], end["lat2"]])
            assert np.hypot(*np.diff([east, north]))[0] == pytest.approx(1000, abs=0.001)


@pytest.mark.parametrize(
    ("longitude", "latitude", "bearing", "metres"),
    [
        (5.00087629883, 52.00071775935, 37.0, 100.0),
        (5.00436821004, 51.99999991901, 90.0, 300.0),
    ],
)
def test_short_lines(longitude, latitude, bearing, metres):
    """Ends of short WGS 84 lines from 52° N, 5° E, by GeographicLib 2.1 (computed, not printed)."""
    east, north = Plane(longitude_deg=5.0, latitude_deg=52.0).to_metres(longitude, latitude)
    assert np.hypot(east, north) == pytest.approx(metres, abs=1e-4)
    assert np.degrees(np.arctan2(east, north)) % 360 == pytest.approx(bearing, abs=0.003)


@pytest.mark.parametrize(
    ("latitude", "north_m", "east_m"),
    [
        (0, 110574.28, 111319.49),
        (30, 110852.44, 96486.28),
        (45, 111131.78, 78846.84),
        (52, 111267.35, 68678.02),
        (60, 111412.29, 55800.00),
    ],
)
def test_metres_in_a_degree(latitude, north_m, east_m):
    """Length of a degree at a latitude, π/180·M and π/180·N·cos φ: the common table for WGS 84
    (as in Snyder, *Map Projections: A Working Manual*, table 9; figures recomputed)."""
    plane = Plane(longitude_deg=0.0, latitude_deg=latitude)
    step = 1e-3
    _, north = plane.to_metres([0.0, 0.0], [latitude - step, latitude + step])
    east, _ = plane.to_metres([-step, step], [latitude, latitude])
    assert np.diff(north)[0] / (2 * step) == pytest.approx(north_m, abs=0.01)
    assert np.diff(east)[0] / (2 * step) == pytest.approx(east_m, abs=0.01)


def test_there_and_back():
    plane = Plane(longitude_deg=-84.2, latitude_deg=43.1)
    lon, lat = plane.to_degrees(*plane.to_metres([-84.21, -84.19], [43.11, 43.09]))
    assert lon == pytest.approx([-84.21, -84.19], abs=1e-10)
    assert lat == pytest.approx([43.11, 43.09], abs=1e-10)


@pytest.mark.parametrize(("height", "ppm"), [(100, 15.7), (500, 78.5), (1000, 157.0)])
def test_height_lengthens_the_ground(height, ppm):
    """h/R with a mean radius of 6371 km (common practice)."""
    assert (height_factor(height, 45.0) - 1) * 1e6 == pytest.approx(ppm, rel=0.005)


def test_a_track_over_the_date_line_keeps_its_size():
    from groundtruth.core.track import Track

    track = Track(
        time_s=[0.0, 1, 2],
        longitude_deg=[179.9995, 180.0, -179.9995],
        latitude_deg=[-17.0, -17.0, -17.0],
    )
    east, _ = plane_about(track).to_metres(track.longitude_deg, track.latitude_deg)
    expected = WGS84.Inverse(-17.0, 179.9995, -17.0, -179.9995)["s12"]
    assert east[-1] - east[0] == pytest.approx(expected, abs=1e-3)


@pytest.mark.parametrize("bearing", [0.0, 37.0, 90.0, 200.0, 359.0])
def test_along_and_across_an_axis_there_and_back(bearing):
    """A geodesic of the bearing runs along the axis; 90° clockwise of it across (geographiclib)."""
    plane, axis = Plane(longitude_deg=7.0, latitude_deg=48.0), Axis.towards(bearing)
    ends = [WGS84.Direct(48.0, 7.0, bearing + turn, 100.0) for turn in (0, 90)]
    east, north = plane.to_metres([e["lon2"] for e in ends], [e["lat2"] for e in ends])
    assert axis.along(east, north) == pytest.approx([100, 0], abs=1e-3)
    assert axis.across(east, north) == pytest.approx([0, 100], abs=1e-3)
    back = axis.from_origin(axis.along(east, north), axis.across(east, north))
    assert back == pytest.approx(np.stack([east, north]), abs=1e-9)
    assert axis.bearing_deg == pytest.approx(bearing, abs=1e-9)
    assert axis.opposite.bearing_deg == pytest.approx((bearing + 180) % 360, abs=1e-9)
