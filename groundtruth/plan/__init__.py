"""Before going out: how many passes, how long, which way, and whether a tape is the better tool."""

from .fitting import fit_track
from .forecast import Design, Forecast, Forecaster
from .phones import KINDS, NoiseSets, kind_sets
from .text import advice, answer, plan_dict, title, ways_table
from .ways import Plan, Way, make_plan

__all__ = [
    "KINDS",
    "Design",
    "Forecast",
    "Forecaster",
    "NoiseSets",
    "Plan",
    "Way",
    "advice",
    "answer",
    "fit_track",
    "kind_sets",
    "make_plan",
    "plan_dict",
    "title",
    "ways_table",
]
