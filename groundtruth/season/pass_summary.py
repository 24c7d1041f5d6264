"""A pass as the record keeps it: its way in a few parts, its middle row unit, its texts."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from ..core.plane import Axis
from ..core.result import PassFigure, PassLine, median_unit

if TYPE_CHECKING:
    from shapely import LineString

PART_S = 25.0
"""A pass is kept as means over parts of about this long: they carry its place across the bed."""
MOST_PARTS = 6
_METRES_PER_DEGREE = 111_320.0
"""Of latitude, for the scatter only."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PassSummary:
    """One pass: ``way`` is its start, the means of its fixes over parts, its end; ``times_s`` their
    instants; ``scatter_m`` the standard deviation of the fixes about its own line."""

    line: PassLine
    figures: tuple[PassFigure, ...]
    start_s: float
    end_s: float
    way: LineString
    times_s: tuple[float, ...]
    scatter_m: float

    @property
    def median(self) -> PassFigure | None:
        """The median row unit by ground per turn."""
        return median_unit(self.figures)

    def joined(self, texts: Iterable[str]) -> str:
        """The different texts of the pass's units, joined where there are several."""
        return ", ".join(dict.fromkeys(t for t in texts if t))


def summary_of(line: PassLine, figures: Sequence[PassFigure]) -> PassSummary | None:
    """What the record keeps of a pass; None for one without a fix."""
    if not line.time_s:
        return None
    start_s = figures[0].start_s if figures else line.time_s[0]
    end_s = figures[0].end_s if figures else line.time_s[-1]
    way, times, scatter_m = _way(line, start_s, end_s)
    return PassSummary(
        line=line,
        figures=tuple(figures),
        start_s=start_s,
        end_s=end_s,
        way=way,
        times_s=tuple(times),
        scatter_m=scatter_m,
    )


def _way(line: PassLine, start_s: float, end_s: float) -> tuple[LineString, list[float], float]:
    """Start, means over parts, end, with their instants; scatter of the fixes about the axis."""
    from shapely import LineString

    time = np.array(line.time_s)
    lon, lat = np.array(line.longitude_deg), np.array(line.latitude_deg)
    inside = (time >= start_s) & (time <= end_s)
    if inside.sum() < 2:
        inside[:] = True
    time, lon, lat = time[inside], lon[inside], lat[inside]
    parts = int(np.clip(round((time[-1] - time[0]) / PART_S), 1, MOST_PARTS))
    edges = np.linspace(time[0], time[-1] + 1e-6, parts + 1)
    positions, times = [line.axis[0]], [start_s]
    for low, high in pairwise(edges.tolist()):
        part = (time >= low) & (time < high)
        if part.any():
            positions.append((float(lon[part].mean()), float(lat[part].mean())))
            times.append(float(time[part].mean()))
    positions.append(line.axis[1])
    times.append(max(end_s, times[-1] + 1e-3))
    east = (lon - lon.mean()) * _METRES_PER_DEGREE * np.cos(np.radians(lat.mean()))
    north = (lat - lat.mean()) * _METRES_PER_DEGREE
    across = Axis.towards(line.axis_deg).across(east, north)
    clock = (time - time.mean()) / max(float(np.ptp(time)), 1.0)
    rest = across - np.polyval(np.polyfit(clock, across, 1), clock)
    return LineString(positions), times, float(np.std(rest))
