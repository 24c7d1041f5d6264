"""The ways to a wanted uncertainty, side by side."""

from __future__ import annotations

from ...core.language import said, say
from ...planning.forecast import MOST_PASSES
from ...planning.options import AS_ASKED, Plan, Way
from ..blocks import Table, column
from ..sentences.planning import ENDS, driven, driving_time, percent


def ways_table(plan: Plan) -> Table:
    """The ways side by side."""
    ways = plan.ways
    within = percent(plan.margin)

    return Table(
        title=say("Ways to be sure within {within}", within=within),
        columns=(
            column(say("way"), (_label(w) for w in ways), "left"),
            column(
                say("passes"),
                (
                    say("over {most}", most=MOST_PASSES) if w.needed is None else str(w.needed)
                    for w in ways
                ),
                strong=True,
            ),
            column(
                say("driving"), ["" if w.needed is None else driving_time(w.minutes) for w in ways]
            ),
            column(say("comes to"), [percent(w.forecast.half_width)[2:] for w in ways]),
        ),
    )


def _label(way: Way) -> str:
    if way.name != AS_ASKED:
        return said(way.name)
    return f"{driven(way.design)}, {said(ENDS[way.design.ends])}"
