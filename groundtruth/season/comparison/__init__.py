"""Compare runs: before and after a change, dry and wet, unit and unit, and day by day."""

from ...stats.welch import Welch, smallest_change, welch
from .control_chart import Chart, ChartPoint, control_chart
from .difference import Difference, Group, UnitStanding, difference, units_over_season
from .types import RunFigure, UnitRun

__all__ = [
    "Chart",
    "ChartPoint",
    "Difference",
    "Group",
    "RunFigure",
    "UnitRun",
    "UnitStanding",
    "Welch",
    "control_chart",
    "difference",
    "smallest_change",
    "units_over_season",
    "welch",
]
