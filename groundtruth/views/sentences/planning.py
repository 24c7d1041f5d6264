"""What a plan says, in sentences."""

from __future__ import annotations

from ...core.display import distance_scale, many
from ...core.run import UnitSystem
from ...core.uncertainty import UncertaintySource
from ...core.units import format_length, format_speed
from ...planning.design import Design
from ...planning.forecast import MOST_PASSES, Forecast
from ...planning.options import INSTANTS, LONGER, ONE_WAY, ROLLING, TAPE, Plan, Way

TAPE_WINS = 0.5
"""The tape is the better tool where it needs at most this share of the passes. Our choice."""
WORTH = 0.85
"""Another way is proposed where it needs at most this share of the passes. Our choice."""
COUNTED = {
    "whole": "whole turns read at both ends",
    "tenth": "turns read to a tenth",
    "each": "every turn timed",
}
ENDS = {
    "stand": "standing still at both ends",
    "instants": "lifting on the move and writing down the times",
    "rolling": "lifting on the move",
}
CAUTION = (
    "Start the recording before you drive and leave the phone alone until you stand. Engine off, "
    "key out and the seeder blocked before anybody reads a counter near gears and chains."
)


def percent(share: float) -> str:
    """ "± 0.98 %"."""
    places = 2 if share < 0.0995 else 1
    return f"± {100 * share:.{places}f} %"


def plan_title(plan: Plan, units: UnitSystem) -> str:
    """What is planned."""
    design, scale = plan.first.design, distance_scale(units)
    bed = scale.number(design.bed_length_m, 1).removesuffix(".0")
    return (
        f"Plan: beds of {bed} {scale.unit} at "
        f"{format_speed(design.speed_m_s, units)}, {COUNTED[design.counting]}, "
        f"{format_length(design.ground_per_turn_m, units)} a turn; {plan.noise.about}"
    )


def plan_answer(plan: Plan) -> tuple[str, ...]:
    """How many passes, how long, how sure."""
    first, within = plan.first, percent(plan.margin)
    design, way = first.design, driven(first.design)
    found = []
    if first.needed is None:
        found.append(
            f"{within} is out of reach this way: {MOST_PASSES} passes come to "
            f"{percent(first.forecast.half_width)}."
        )
    else:
        found.append(
            f"To be 95 % sure within {within}: count {many(first.needed, 'pass', 'passes')} {way}, "
            f"{ENDS[design.ends]}; about {driving_time(first.minutes)} of driving."
        )
    found.append(_lucky(first.forecast))
    if plan.asked is not None:
        found.append(
            f"{many(plan.asked.passes, 'pass', 'passes').capitalize()}, as you asked, would give "
            f"{percent(plan.asked.half_width)}."
        )
    return tuple(found)


def driven(design: Design) -> str:
    """Which passes are counted: \"to and fro\" or every second bed."""
    return "in one direction (every second bed)" if design.one_way else "to and fro"


def _lucky(forecast: Forecast) -> str:
    low, high = forecast.half_width_80
    source, share = max(forecast.shares.items(), key=lambda pair: pair[1])
    doubt = f"most of the doubt is {source} ({100 * share:.0f} % of the variance)"
    if high - low < 0.05 * forecast.half_width:
        return f"Expect {percent(forecast.half_width)}; {doubt}."
    return (
        f"Expect {percent(forecast.half_width)}, from {percent(low)} with a lucky phone to "
        f"{percent(high)} with an unlucky one; {doubt}."
    )


def plan_advice(plan: Plan) -> tuple[str, ...]:
    """Which way, whether to stand, whether to take a tape."""
    return tuple(
        sentence
        for sentence in (
            _tape(plan),
            _ends(plan),
            _direction(plan),
            _length(plan),
            _counting(plan.first),
            CAUTION,
        )
        if sentence
    )


def _count(way: Way) -> float:
    return float("inf") if way.needed is None else float(way.needed)


def _needs(way: Way | None) -> str:
    if way is None or way.needed is None:
        return f"more than {MOST_PASSES} passes"
    return many(way.needed, "pass", "passes")


def _tape(plan: Plan) -> str:
    tape = plan.way(TAPE)
    if tape is None:
        return ""
    said = f"With every counted bed taped, {_needs(tape)} would do"
    if _count(tape) <= TAPE_WINS * _count(plan.first):
        return f"{said} instead of {_needs(plan.first)}: a tape is the better tool here."
    return f"{said}: the phone is good enough here."


def _ends(plan: Plan) -> str:
    instants, rolling = plan.way(INSTANTS), plan.way(ROLLING)
    if instants is None or rolling is None:
        standing = plan.way("standing at both ends")
        if standing and _count(standing) < WORTH * _count(plan.first):
            return f"Standing still at both ends, {_needs(standing)} would do: stand."
        return "Standing still at both ends would save little here."
    hurried = min(_count(instants), _count(rolling))
    return (
        f"Lifting on the move instead takes {_needs(instants)} with the times written down to the "
        f"second, {_needs(rolling)} without: "
        + ("stand still." if hurried > _count(plan.first) else "standing gains little here.")
    )


def _direction(plan: Plan) -> str:
    one = plan.way(ONE_WAY)
    if one is None or _count(one) >= WORTH * _count(plan.first):
        return "Which way you drive matters little here." if one is not None else ""
    return (
        f"Counting only the passes that run in one direction (every second bed) takes "
        f"{_needs(one)}, {driving_time(one.minutes)} of driving: less counting, more time."
    )


def _length(plan: Plan) -> str:
    longer = plan.way(LONGER)
    if longer is None or _count(longer) >= WORTH * _count(plan.first):
        return ""
    return f"On beds twice as long {_needs(longer)} would do: count on your longest beds."


def _counting(way: Way) -> str:
    share = way.forecast.shares.get(UncertaintySource.COUNTING, 0.0)
    if way.design.counting != "whole" or share < 0.1:
        return ""
    return (
        f"Counting whole turns makes {100 * share:.0f} % of the variance: read the counter to a "
        "tenth of a turn, or mark the gear and start every count from the mark."
    )


def driving_time(minutes: float) -> str:
    """ "40 min" or "2.5 h"."""
    if minutes < 90:
        return f"{max(1, round(minutes))} min"
    return f"{minutes / 60:.1f} h"
