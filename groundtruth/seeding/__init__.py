"""From the ground per turn to the setting: bench curve, target, choice, seed need, stands."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..core.lazy_names import lazy_names

if TYPE_CHECKING:
    from ..core.counts import BenchCount as BenchCount
    from ..core.counts import weighed_seeds as weighed_seeds
    from ..stats.intervals import Dispersion as Dispersion
    from .acceptance import AcceptanceRange as AcceptanceRange
    from .acceptance import acceptance_range as acceptance_range
    from .acceptance import chance_inside as chance_inside
    from .acceptance import more_turns_to_tell_apart as more_turns_to_tell_apart
    from .acceptance import turns_for_count as turns_for_count
    from .bench_figures import SettingFigure as SettingFigure
    from .bench_figures import dispersion_of as dispersion_of
    from .bench_figures import setting_figure as setting_figure
    from .credible_counts import DoubtfulCount as DoubtfulCount
    from .credible_counts import doubtful_catches as doubtful_catches
    from .credible_counts import doubtful_stands as doubtful_stands
    from .credible_counts import order_if_known as order_if_known
    from .curve import SettingCurve as SettingCurve
    from .curve import setting_curve as setting_curve
    from .ground_figure import GroundFigure as GroundFigure
    from .ground_figure import WheelChange as WheelChange
    from .ground_figure import figure_of as figure_of
    from .plant_spacing import SpacingIndices as SpacingIndices
    from .plant_spacing import spacing_indices as spacing_indices
    from .seed_need import SeedNeed as SeedNeed
    from .seed_need import beds_of as beds_of
    from .seed_need import seed_needed as seed_needed
    from .setting_choice import Choice as Choice
    from .setting_choice import choose as choose
    from .setting_order import settings_in_order as settings_in_order
    from .stand_emergence import Emergence as Emergence
    from .stand_emergence import emergence as emergence
    from .stand_emergence import with_emergence as with_emergence
    from .turning_speed import turning_notices as turning_notices
    from .turning_speed import turns_per_minute as turns_per_minute

__getattr__, __dir__, __all__ = lazy_names(
    __name__,
    {
        ".core.counts": ["BenchCount", "weighed_seeds"],
        ".stats.intervals": ["Dispersion"],
        "acceptance": [
            "AcceptanceRange",
            "acceptance_range",
            "chance_inside",
            "more_turns_to_tell_apart",
            "turns_for_count",
        ],
        "bench_figures": ["SettingFigure", "dispersion_of", "setting_figure"],
        "credible_counts": [
            "DoubtfulCount",
            "doubtful_catches",
            "doubtful_stands",
            "order_if_known",
        ],
        "curve": ["SettingCurve", "setting_curve"],
        "ground_figure": ["GroundFigure", "WheelChange", "figure_of"],
        "plant_spacing": ["SpacingIndices", "spacing_indices"],
        "seed_need": ["SeedNeed", "beds_of", "seed_needed"],
        "setting_choice": ["Choice", "choose"],
        "setting_order": ["settings_in_order"],
        "stand_emergence": ["Emergence", "emergence", "with_emergence"],
        "turning_speed": ["turning_notices", "turns_per_minute"],
    },
)
