"""Seeds per gear turn against the setting, from bench counts."""

from .bench import Bench, read_bench
from .checks import (
    AcceptanceRange,
    acceptance_range,
    chance_inside,
    more_turns_to_tell_apart,
    turns_for_count,
)
from .counts import (
    BenchCount,
    Dispersion,
    SettingFigure,
    count_limits,
    dispersion_of,
    poisson_limits,
    setting_figure,
    weighed_seeds,
)
from .curve import SettingCurve, setting_curve
from .settings import in_order
from .turning import turning_notices, turns_per_minute

__all__ = [
    "AcceptanceRange",
    "Bench",
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
    "read_bench",
    "setting_curve",
    "setting_figure",
    "turning_notices",
    "turns_for_count",
    "turns_per_minute",
    "weighed_seeds",
]
