"""Compare a season's runs: group against group, row unit against row unit, and day by day."""

from .control_chart import Chart, ChartPoint, control_chart
from .difference import Difference, Group, UnitStanding, difference, units_over_season
from .types import Covariate, RunFigure, UnitRun

__all__ = [
    "Chart",
    "ChartPoint",
    "Covariate",
    "Difference",
    "Group",
    "RunFigure",
    "UnitRun",
    "UnitStanding",
    "control_chart",
    "difference",
    "units_over_season",
]
