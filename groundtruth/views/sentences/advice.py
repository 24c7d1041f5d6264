"""What would make the figure surer, in sentences."""

from __future__ import annotations

from ...core.assumptions import TAPE_HALF_WIDTH_M
from ...core.display import distance_scale
from ...core.findings import Advice, AdviceKind
from ...core.language import decimals, many, say
from ...core.run import UnitSystem
from ...core.units import FOOT

_LENGTH_STEP_M = {"metric": 5.0, "us": 10 * FOOT.value}
"""Lengths of passes that are only proposed are round."""


def rough_percent(share: float) -> str:
    """A share to one decimal, a small one to two: "1.1 %"."""
    return f"{decimals(f'{share * 100:.{1 if share >= 0.00995 else 2}f}')} %"


def advice_sentence(advice: Advice, passes: int, units: UnitSystem) -> str:
    """One proposal with what it would bring; ``passes`` is how many were measured."""
    if advice.kind is AdviceKind.THREE_PASSES:
        return say(
            "With fewer than three passes the change from pass to pass is assumed, not measured; "
            "three or more would show it."
        )
    assert advice.half_width_95 is not None  # held by Advice for all other kinds
    goal = f"± {rough_percent(advice.half_width_95)}"
    scale = distance_scale(units)
    if advice.kind is AdviceKind.MANY_MORE_PASSES:
        return say(
            "More passes like these are a slow way: {goal} would take {passes}.",
            goal=goal,
            passes=advice.passes,
        )
    if advice.kind is AdviceKind.MORE_PASSES:
        return say(
            "{passes} passes like these instead of {now} would bring it to {goal}.",
            passes=advice.passes,
            now=passes,
            goal=goal,
        )
    if advice.kind is AdviceKind.TAPE:
        return many(
            passes,
            "Taping the length of this bed (to ± {limits}) would bring it to {goal}.",
            "Taping the length of these {count} beds (to ± {limits}) would bring it to {goal}.",
            limits=f"{scale.number(TAPE_HALF_WIDTH_M, 1)} {scale.unit}",
            goal=goal,
        )
    if advice.kind is AdviceKind.LONGER_PASSES:
        assert advice.pass_length_m is not None  # held by Advice
        step_m = _LENGTH_STEP_M[units]
        length = scale.number(round(advice.pass_length_m / step_m) * step_m, 0)
        return say(
            "Passes twice as long (about {length}) would bring it to {goal}.",
            length=f"{length} {scale.unit}",
            goal=goal,
        )
    return say(
        "Standing still for 10 s at both ends of each pass would bring it to {goal}.", goal=goal
    )
