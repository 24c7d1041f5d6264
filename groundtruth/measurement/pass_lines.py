"""The passes as lines to draw."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..core.plane import Axis, Plane
from ..core.result import PassLine
from ..core.track import Track
from ..passes.matching import CountedPass

Array = NDArray[np.float64]


def pass_line(
    track: Track, plane: Plane, east_m: Array, north_m: Array, counted: CountedPass
) -> PassLine:
    """The fixes of a pass and its axis: from end to end, the median place across.

    ``east_m`` and ``north_m`` (fixes,) are the track's places in the plane.
    """
    found = counted.found
    part = slice(found.first, found.last + 1)
    time_s = track.time_s[part]
    axis = Axis.towards(found.axis_deg)
    across = axis.across(east_m[part], north_m[part])
    # the ends may lie a little outside the fixes that are used
    around = slice(max(found.first - 1, 0), found.last + 2)
    ends = np.interp(
        [found.start.time_s, found.end.time_s],
        track.time_s[around],
        axis.along(east_m[around], north_m[around]),
    )
    axis_lon, axis_lat = plane.to_degrees(*axis.from_origin(ends, np.median(across)))
    return PassLine(
        number=counted.number,
        time_s=tuple(time_s.tolist()),
        longitude_deg=tuple(track.longitude_deg[part].tolist()),
        latitude_deg=tuple(track.latitude_deg[part].tolist()),
        axis=(
            (float(axis_lon[0]), float(axis_lat[0])),
            (float(axis_lon[1]), float(axis_lat[1])),
        ),
        axis_deg=found.axis_deg,
        speed_m_s=abs(float(ends[1] - ends[0])) / max(found.under_way_s, 1e-9),
    )
