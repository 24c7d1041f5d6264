"""A plan as plain dictionaries for JSON, in SI units and shares; keys in docs/plan.md."""

from __future__ import annotations

from typing import Any

from ...planning.forecast import Forecast
from ...planning.options import Plan
from ..sentences.planning import plan_advice, plan_answer


def plan_dict(plan: Plan) -> dict[str, Any]:
    """The plan in SI units and shares."""
    design = plan.first.design
    return {
        "phone": plan.noise.name,
        "phone_about": plan.noise.about,
        "bed_length_m": design.bed_length_m,
        "speed_m_s": design.speed_m_s,
        "counting": design.counting,
        "ground_per_turn_m": design.ground_per_turn_m,
        "spread_between_passes": design.spread,
        "within_95": plan.margin,
        "asked": forecast_dict(plan.asked) if plan.asked else None,
        "ways": [
            {
                "way": way.name,
                "ends": way.design.ends,
                "one_direction": way.design.one_way,
                "bed_length_m": way.design.bed_length_m,
                "passes_needed": way.needed,
                "minutes": way.minutes,
                "forecast": forecast_dict(way.forecast),
            }
            for way in plan.ways
        ],
        "advice": [*plan_answer(plan), *plan_advice(plan)],
    }


def forecast_dict(forecast: Forecast) -> dict[str, Any]:
    """One forecast."""
    return {
        "passes": forecast.passes,
        "u": forecast.std,
        "half_width_95": forecast.half_width,
        "half_width_95_lucky": forecast.half_width_80[0],
        "half_width_95_unlucky": forecast.half_width_80[1],
        "shares": forecast.shares,
    }
