"""What a plan says, in sentences."""

from __future__ import annotations

from ...core.display import distance_scale
from ...core.language import English, decimals, many, said, say
from ...core.run import UnitSystem
from ...core.uncertainty import UncertaintySource
from ...core.units import format_length, format_speed
from ...planning.design import Design
from ...planning.forecast import MOST_PASSES, Forecast
from ...planning.options import INSTANTS, LONGER, ONE_WAY, ROLLING, STANDING, TAPE, Plan, Way
from .sources import BARE_SOURCE_NAMES

TAPE_WINS = 0.5
"""The tape is the better tool where it needs at most this share of the passes. Our choice."""
WORTH = 0.85
"""Another way is proposed where it needs at most this share of the passes. Our choice."""
COUNTED = {
    "whole": English("whole turns read at both ends"),
    "tenth": English("turns read to a tenth"),
    "each": English("every turn timed"),
}
ENDS = {
    "stand": English("standing still at both ends"),
    "instants": English("lifting on the move and writing down the times"),
    "rolling": English("lifting on the move"),
}
CAUTION = English(
    "Start the recording before you drive and leave the phone alone until you stand. Engine off, "
    "key out and the seeder blocked before anybody reads a counter near gears and chains."
)


def percent(share: float) -> str:
    """ "± 0.98 %"."""
    places = 2 if share < 0.0995 else 1
    return f"± {decimals(f'{100 * share:.{places}f}')} %"


def plan_title(plan: Plan, units: UnitSystem) -> str:
    """What is planned."""
    design, scale = plan.first.design, distance_scale(units)
    bed = scale.number(design.bed_length_m, 1).removesuffix(decimals(".0"))
    return say(
        "Plan: beds of {bed} at {speed}, {counted}, {ground} a turn; {phone}",
        bed=f"{bed} {scale.unit}",
        speed=format_speed(design.speed_m_s, units),
        counted=COUNTED[design.counting],
        ground=format_length(design.ground_per_turn_m, units),
        phone=plan.noise.about,
    )


def plan_answer(plan: Plan) -> tuple[str, ...]:
    """How many passes, how long, how sure."""
    first, within = plan.first, percent(plan.margin)
    found = []
    if first.needed is None:
        found.append(
            say(
                "{within} is out of reach this way: {most} passes come to {wide}.",
                within=within,
                most=MOST_PASSES,
                wide=percent(first.forecast.half_width),
            )
        )
    else:
        found.append(
            many(
                first.needed,
                "To be 95 % sure within {within}: count {count} pass {way}, {ends}; about {time} "
                "of driving.",
                "To be 95 % sure within {within}: count {count} passes {way}, {ends}; about {time} "
                "of driving.",
                within=within,
                way=driven(first.design),
                ends=ENDS[first.design.ends],
                time=driving_time(first.minutes),
            )
        )
    found.append(_lucky(first.forecast))
    if plan.asked is not None:
        found.append(
            many(
                plan.asked.passes,
                "{count} pass, as you asked, would give {wide}.",
                "{count} passes, as you asked, would give {wide}.",
                wide=percent(plan.asked.half_width),
            )
        )
    return tuple(found)


def driven(design: Design) -> str:
    """Which passes are counted: \"to and fro\" or every second bed."""
    return say("in one direction (every second bed)") if design.one_way else say("to and fro")


def _lucky(forecast: Forecast) -> str:
    low, high = forecast.half_width_80
    source, share = max(forecast.shares.items(), key=lambda pair: pair[1])
    figures = {
        "wide": percent(forecast.half_width),
        "source": BARE_SOURCE_NAMES[source],
        "share": 100 * share,
    }
    if high - low < 0.05 * forecast.half_width:
        return say(
            "Expect {wide}; most of the doubt is {source} ({share:.0f} % of the variance).",
            **figures,
        )
    return say(
        "Expect {wide}, from {low} with a lucky phone to {high} with an unlucky one; most of the "
        "doubt is {source} ({share:.0f} % of the variance).",
        **figures,
        low=percent(low),
        high=percent(high),
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
            said(CAUTION),
        )
        if sentence
    )


def _count(way: Way) -> float:
    return float("inf") if way.needed is None else float(way.needed)


def _needs(way: Way | None) -> str:
    if way is None or way.needed is None:
        return say("more than {most} passes", most=MOST_PASSES)
    return many(way.needed, "{count} pass", "{count} passes")


def _tape(plan: Plan) -> str:
    tape = plan.way(TAPE)
    if tape is None:
        return ""
    needed = _needs(tape)
    if _count(tape) <= TAPE_WINS * _count(plan.first):
        return say(
            "With every counted bed taped, {passes} would do instead of {more}: a tape is the "
            "better tool here.",
            passes=needed,
            more=_needs(plan.first),
        )
    return say(
        "With every counted bed taped, {passes} would do: the phone is good enough here.",
        passes=needed,
    )


def _ends(plan: Plan) -> str:
    instants, rolling = plan.way(INSTANTS), plan.way(ROLLING)
    if instants is None or rolling is None:
        standing = plan.way(STANDING)
        if standing and _count(standing) < WORTH * _count(plan.first):
            return say(
                "Standing still at both ends, {passes} would do: stand.", passes=_needs(standing)
            )
        return say("Standing still at both ends would save little here.")
    needs = {"passes": _needs(instants), "without": _needs(rolling)}
    if min(_count(instants), _count(rolling)) > _count(plan.first):
        return say(
            "Lifting on the move instead takes {passes} with the times written down to the second, "
            "{without} without: stand still.",
            **needs,
        )
    return say(
        "Lifting on the move instead takes {passes} with the times written down to the second, "
        "{without} without: standing gains little here.",
        **needs,
    )


def _direction(plan: Plan) -> str:
    one = plan.way(ONE_WAY)
    if one is None or _count(one) >= WORTH * _count(plan.first):
        return say("Which way you drive matters little here.") if one is not None else ""
    return say(
        "Counting only the passes that run in one direction (every second bed) takes {passes}, "
        "{time} of driving: less counting, more time.",
        passes=_needs(one),
        time=driving_time(one.minutes),
    )


def _length(plan: Plan) -> str:
    longer = plan.way(LONGER)
    if longer is None or _count(longer) >= WORTH * _count(plan.first):
        return ""
    return say(
        "On beds twice as long {passes} would do: count on your longest beds.",
        passes=_needs(longer),
    )


def _counting(way: Way) -> str:
    share = way.forecast.shares.get(UncertaintySource.COUNTING, 0.0)
    if way.design.counting != "whole" or share < 0.1:
        return ""
    return say(
        "Counting whole turns makes {share:.0f} % of the variance: read the counter to a tenth of "
        "a turn, or mark the gear and start every count from the mark.",
        share=100 * share,
    )


def driving_time(minutes: float) -> str:
    """ "40 min" or "2.5 h"."""
    if minutes < 90:
        return f"{max(1, round(minutes))} min"
    return f"{decimals(f'{minutes / 60:.1f}')} h"
