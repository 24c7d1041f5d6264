"""Seeds per gear turn against the setting, from bench counts."""

from ..core.counts import BenchCount, weighed_seeds
from ..stats.intervals import Dispersion, count_limits, poisson_limits
from .acceptance import (
    AcceptanceRange,
    acceptance_range,
    chance_inside,
    more_turns_to_tell_apart,
    turns_for_count,
)
from .bench_figures import SettingFigure, dispersion_of, setting_figure
from .setting_curve import SettingCurve, setting_curve
from .setting_order import in_order
from .turning_speed import turning_notices, turns_per_minute

__all__ = [
    "AcceptanceRange",
    "BenchCount",
    "Dispersion",
    "SettingCurve",
    "SettingFigure",
    "acceptance_range",
    "chance_inside",
    "count_limits",
    "dispersion_of",
    "in_order",
    "more_turns_to_tell_apart",
    "poisson_limits",
    "setting_curve",
    "setting_figure",
    "turning_notices",
    "turns_for_count",
    "turns_per_minute",
    "weighed_seeds",
]
