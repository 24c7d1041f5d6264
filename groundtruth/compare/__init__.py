"""Compare runs: before and after a change, dry and wet, unit and unit, and day by day."""

from .chart import Chart, ChartPoint, control_chart
from .contract import RunFigure, UnitRun
from .differ import Difference, Group, UnitStanding, difference, units_over_season
from .sentences import chart_sentences, difference_sentences, unit_sentences
from .welch import Welch, smallest_change, welch

__all__ = [
    "Chart",
    "ChartPoint",
    "Difference",
    "Group",
    "RunFigure",
    "UnitRun",
    "UnitStanding",
    "Welch",
    "chart_sentences",
    "control_chart",
    "difference",
    "difference_sentences",
    "smallest_change",
    "unit_sentences",
    "units_over_season",
    "welch",
]
