"""Before going out: how many passes, how long, which way, and whether a tape is the better tool."""

from .fit_noise import fit_track
from .forecast import Design, Forecast, Forecaster
from .options import Plan, Way, make_plan
from .phone_kinds import KINDS, NoiseSets, kind_sets

__all__ = [
    "KINDS",
    "Design",
    "Forecast",
    "Forecaster",
    "NoiseSets",
    "Plan",
    "Way",
    "fit_track",
    "kind_sets",
    "make_plan",
]
