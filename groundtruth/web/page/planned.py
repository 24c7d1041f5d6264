"""What the page is told of a plan, before anybody goes out."""

from __future__ import annotations

from typing import Any

from ...app.planning import PlanRequest, plan_for
from ...app.typed_run import share_typed, with_unit
from ...core.errors import InputError
from ...core.language import say
from ...core.units import parse_length, parse_speed
from ...planning import Design
from ...views.blocks import Block, Sentences
from .asked import flag, shown_units, text
from .shown import blocks_json

_ASSUMED_GROUND = "60 cm"


def plan_blocks(asked: dict[str, Any]) -> dict[str, Any]:
    """How many passes, how long, which way, and what else would do."""
    from ...views.sentences.planning import plan_advice, plan_answer, plan_title
    from ...views.tables.planning import ways_table

    units = shown_units(asked)
    small, large, fast = ("in", "ft", "mph") if units == "us" else ("cm", "m", "km/h")
    ground = with_unit(text(asked, "ground"), small) or _ASSUMED_GROUND
    design = Design(
        bed_length_m=parse_length(
            with_unit(text(asked, "bed_length"), large), what="bed length", above_zero=True
        ),
        speed_m_s=parse_speed(with_unit(text(asked, "speed"), fast), what="speed", above_zero=True),
        counting=_one_of(asked, "count", ("whole", "tenth", "each")),
        ground_per_turn_m=parse_length(ground, what="ground per turn", above_zero=True),
        ends=_one_of(asked, "ends", ("stand", "instants", "rolling")),
        one_way=flag(asked, "one_way"),
    )
    within = share_typed("within", f"{text(asked, 'within').strip().rstrip('%') or '1'} %")
    phone = text(asked, "phone") or "ordinary"
    plan = plan_for(PlanRequest(design=design, within=within, phone=phone))
    blocks: list[Block] = [
        Sentences(title=plan_title(plan, units), sentences=plan_answer(plan), strong=1),
        ways_table(plan),
        Sentences(title=say("What to do"), sentences=plan_advice(plan)),
    ]
    return {"blocks": blocks_json(blocks)}


def _one_of(asked: dict[str, Any], key: str, known: tuple[str, ...]) -> Any:
    found = text(asked, key) or known[0]
    if found not in known:
        raise InputError(f"{key}: one of {', '.join(known)}", column=key)
    return found
