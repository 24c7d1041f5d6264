"""From the fixes of a pass to the line that is drawn for it.

The errors of fixes drift by metres while a bed is straight or gently bowed, so a pass is drawn as
the parabola that fits its fixes across the pass, between the ends of its axis. Only for drawing:
nothing is measured from it.
"""

from __future__ import annotations

from math import cos, radians

import numpy as np
from numpy.typing import NDArray

from ...core.result import PassLine

Array = NDArray[np.float64]

E7 = 10_000_000
"""Positions are handed to the page in 1e-7 degree, about 1 cm."""
_METRES_PER_DEGREE = 111_320.0
"""Length of a degree on the equator; precise enough to fit a line for the eye."""
_POINTS = 13
_STRAIGHT_M = 3.0
"""A smaller bow is drawn straight: it cannot be told from the slow drift of a phone's errors."""
_ON_AXIS_M = 1.0
"""Where half the fixes lie nearer to the axis than this, the others are jumps and no bow: along a
bow of `_STRAIGHT_M` about its best straight line the median distance is a third of the sagitta."""
_OUTLYING = 4.5
"""Fixes farther from the line than this many median distances (3 standard deviations of a normal
spread) are left out of it."""
_ROUNDS = 4
_MOST_BOWED = 0.05
"""A bow of more than this share of the length is that drift on a short pass, no bed."""

LonLat = tuple[float, float]


def drawn_line(line: PassLine) -> list[LonLat]:
    """(longitude, latitude) in degrees along the pass, from its start to its end.

    Longitudes go on beyond ±180° where the pass crosses that meridian.
    """
    start, end = line.axis
    scale = np.array([_METRES_PER_DEGREE * cos(radians(start[1])), _METRES_PER_DEGREE])
    reach: Array = np.array([_near(end[0], start[0]) - start[0], end[1] - start[1]]) * scale
    length_m = float(np.hypot(*reach))
    if length_m == 0:
        return [start]
    ahead = reach / length_m
    left = np.array([-ahead[1], ahead[0]])
    along_m: Array = np.array([0.0, length_m])
    across_m: Array = np.array([0.0, 0.0])
    bow = _bow(line, start, scale, ahead, left, length_m)
    if bow is not None:
        along_m = np.linspace(0.0, length_m, _POINTS)
        across_m = np.asarray(np.polyval(bow, along_m), dtype=np.float64)
    places = start + (along_m[:, None] * ahead + across_m[:, None] * left) / scale
    return [(float(lon), float(lat)) for lon, lat in places]


def _bow(
    line: PassLine, start: LonLat, scale: Array, ahead: Array, left: Array, length_m: float
) -> Array | None:
    """Coefficients of the offset to the left against the way along, None where it is straight."""
    if len(line.longitude_deg) < _POINTS:
        return None
    lon = [_near(value, start[0]) - start[0] for value in line.longitude_deg]
    offset_m: Array = np.column_stack([lon, np.subtract(line.latitude_deg, start[1])]) * scale
    along_m, across_m = offset_m @ ahead, offset_m @ left
    if np.median(np.abs(across_m)) < _ON_AXIS_M:
        return None
    kept = (along_m >= 0) & (along_m <= length_m)
    for _ in range(_ROUNDS):
        if kept.sum() < _POINTS or np.ptp(along_m[kept]) < length_m / 2:
            return None
        bow: Array = np.polyfit(along_m[kept], across_m[kept], 2)
        off_m = np.abs(across_m - np.polyval(bow, along_m))
        kept &= off_m <= _OUTLYING * np.median(off_m[kept])
    sagitta_m = abs(bow[0]) * length_m**2 / 4
    return bow if _STRAIGHT_M < sagitta_m < _MOST_BOWED * length_m else None


def _near(longitude_deg: float, other_deg: float) -> float:
    """The same meridian, written within 180° of the other."""
    return longitude_deg - 360 * round((longitude_deg - other_deg) / 360)


def packed(places: list[LonLat], origin: LonLat) -> list[int]:
    """Longitude and latitude in turn, each as the step from the one before, in 1e-7 degree.

    The first step is from ``origin``. Small whole numbers make a small page.
    """
    lon0, lat0 = round(origin[0] * E7), round(origin[1] * E7)
    steps = []
    for longitude_deg, latitude_deg in places:
        lon, lat = round(_near(longitude_deg, origin[0]) * E7), round(latitude_deg * E7)
        steps += [lon - lon0, lat - lat0]
        lon0, lat0 = lon, lat
    return steps
