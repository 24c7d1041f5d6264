"""Bench counts, choices, targets, seed and stands as plain dictionaries for JSON, in SI units.

The keys are documented in docs/bench.md.
"""

from __future__ import annotations

from typing import Any

from ...core.crops import Crop
from ...io.json_values import quantity_keys
from ...seeding import SettingCurve
from ...seeding.ground_figure import GroundFigure
from ...seeding.plant_spacing import SpacingIndices
from ...seeding.seed_need import SeedNeed
from ...seeding.setting_choice import Choice
from ...seeding.stand_emergence import Emergence


def ground_dict(ground: GroundFigure) -> dict[str, Any]:
    """The ground per turn and where it comes from."""
    return {
        **quantity_keys("ground_per_turn", ground.ground_per_turn, "_m"),
        "ground_per_turn_95_m": list(ground.ground_per_turn_95),
        "measured_on": ground.measured_on.isoformat() if ground.measured_on else None,
        "run_name": ground.run_name or None,
    }


def curve_dict(crop: str, seed_lot: str, curve: SettingCurve) -> dict[str, Any]:
    """Seeds per turn by setting."""
    settings = []
    for i, (setting, figure) in enumerate(zip(curve.settings, curve.tried, strict=True)):
        settings.append(
            {
                "setting": setting,
                "tried": figure is not None,
                "catches": figure.catches if figure else 0,
                "turns": figure.turns if figure else 0,
                "seeds": figure.seeds if figure else 0,
                **quantity_keys("seeds_per_turn", figure.seeds_per_turn if figure
                           else curve.seeds_per_turn(i)),
                "seeds_per_turn_95": list(figure.seeds_per_turn_95 if figure
                                          else curve.seeds_per_turn_95(i)),
            }
        )  # fmt: skip
    return {
        "crop": crop,
        "seed_lot": seed_lot,
        "settings": settings,
        "beyond": list(curve.beyond),
        "order_broken": curve.order_broken,
        "dispersion": curve.dispersion.factor,
        "dispersion_degrees_of_freedom": curve.dispersion.degrees_of_freedom,
        "dispersion_assumed": curve.dispersion.assumed,
    }


def crop_dict(crop: Crop) -> dict[str, Any]:
    """What is wanted of a crop."""
    return {
        "crop": crop.name,
        "seed_lot": crop.seed_lot,
        "wanted": "seeds" if crop.by_rate else "plants",
        "wanted_per_m": crop.wanted,
        "accepted_per_m": list(crop.accepted),
        "accepted_assumed": crop.accept is None,
        **quantity_keys("germination", crop.germination),
        **quantity_keys("field_emergence", crop.field_emergence),
    }


def target_dict(crop: Crop, ground: GroundFigure) -> dict[str, Any]:
    """Seeds per turn for a crop, by the measured figure and by the one in use."""
    target = ground.target(crop)
    return {
        **crop_dict(crop),
        **quantity_keys("seeds_per_turn", target.seeds_per_turn),
        "seeds_per_turn_95": list(target.seeds_per_turn_95),
        "seeds_per_turn_in_use": target.seeds_per_turn_in_use,
        **quantity_keys("seeds_per_m", crop.seeds_wanted_per_m),
    }


def choice_dict(choice: Choice, ground: GroundFigure) -> dict[str, Any]:
    """The setting chosen and what speaks for it."""
    return {
        **target_dict(choice.crop, ground),
        "setting": choice.option.setting,
        "stand_beyond_tried": choice.beyond,
        "thin": choice.thin,
        "check": {
            "turns": choice.check.turns,
            "seeds_expected": choice.check.expected,
            "seeds_from": choice.check.low,
            "seeds_to": choice.check.high,
            "false_alarm": choice.check.false_alarm,
        },
        "options": [
            {
                "setting": o.setting,
                "tried": o.tried,
                **quantity_keys("seeds_per_turn", o.seeds_per_turn),
                "seeds_per_turn_95": list(o.seeds_per_turn_95),
                **quantity_keys("seeds_per_m", o.seeds_per_m),
                **quantity_keys("stand_per_m", o.stand),
                "stand_per_m_95": list(o.stand_95),
                "probability_inside": o.inside,
                "probability_below": o.below,
                "probability_above": o.above,
            }
            for o in choice.options
        ],
        "neighbours": [
            {"setting": n.setting, "passes_check": n.passes_check, "more_turns": n.more_turns}
            for n in choice.neighbours
        ],
        "dispersion_assumed": choice.dispersion_assumed,
    }


def need_dict(need: SeedNeed) -> dict[str, Any]:
    """Seed for some beds."""
    return {
        "row_length_m": need.row_length_m,
        **quantity_keys("seeds", need.seeds),
        **quantity_keys("mass", need.mass_kg, "_kg"),
        "take_seeds": need.take_seeds,
        "take_kg": need.take_kg,
        "in_bag_kg": need.in_bag_kg,
        "probability_enough": need.enough,
    }


def emergence_dict(found: Emergence) -> dict[str, Any]:
    """What came up of one crop and lot."""
    return {
        "crop": found.crop,
        "seed_lot": found.seed_lot,
        "lengths": found.lengths,
        "length_m": found.length_m,
        "plants": found.plants,
        **quantity_keys("plants_per_m", found.plants_per_m),
        **quantity_keys("of_seeds", found.of_seeds),
        "of_seeds_95": list(found.of_seeds_95),
        **quantity_keys("field_emergence", found.field_emergence),
        "field_emergence_95": list(found.field_emergence_95),
        "dispersion": found.dispersion.factor,
        "dispersion_assumed": found.dispersion.assumed,
    }


def spacing_dict(indices: SpacingIndices) -> dict[str, Any]:
    """The indices of ISO 7256-1."""
    return {
        "spacings": indices.spacings,
        "theoretical_m": indices.theoretical_m,
        "mean_m": indices.mean_m,
        "multiples": indices.multiples,
        "multiples_95": list(indices.multiples_95),
        "quality_of_feed": indices.quality_of_feed,
        "quality_of_feed_95": list(indices.quality_of_feed_95),
        "misses": indices.misses,
        "misses_95": list(indices.misses_95),
        "precision": indices.precision,
    }
