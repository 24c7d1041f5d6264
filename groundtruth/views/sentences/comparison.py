"""What a comparison says, in plain sentences."""

from __future__ import annotations

from collections.abc import Sequence

from ...core.display import PERCENT, ground_scale
from ...core.language import English, many, said, say
from ...core.run import UnitSystem
from ...core.safe_text import visible
from ...season.comparison.control_chart import Chart
from ...season.comparison.difference import Difference, Group, UnitStanding
from ...season.comparison.types import Covariate

_COVARIATES = {
    Covariate.SOIL: English("soil"),
    Covariate.PHASE: English("changes of the seeder"),
}


def _percent(share: float, places: int = 1) -> str:
    return f"{PERCENT.number(share, places)} %"


def difference_sentences(found: Difference, units: UnitSystem) -> tuple[str, ...]:
    """Difference with interval, what it rests on, and what could not have been shown."""
    first, second = _side(found.first, units), _side(found.second, units)
    lines = [
        _difference(found),
        say("Ground per gear turn: {first}; {second}.", first=first, second=second),
        say(
            "A change of {size} would have shown with these runs 4 times in 5; a smaller one may "
            "well be missed.",
            size=_percent(found.smallest),
        ),
    ]
    if found.allowed_for:
        both = say(" and ").join(said(_COVARIATES[c]) for c in found.allowed_for)
        lines.append(say("Allowed for: {what}.", what=both))
    if found.welch is not None:
        low, high = found.welch.interval
        lines.append(
            say(
                "Welch's test on the runs' figures alone: {change} % ({low} to {high} %), "
                "p = {p:.2g}.",
                change=PERCENT.signed(found.welch.difference, 1),
                low=PERCENT.signed(low, 1),
                high=PERCENT.signed(high, 1),
                p=found.welch.p_value,
            )
        )
    return tuple(lines)


def _difference(found: Difference) -> str:
    names = {"first": visible(found.first.label, 40), "second": visible(found.second.label, 40)}
    if not found.shown:
        low, high = (PERCENT.signed(e, 1) for e in found.relative_95)
        return say(
            "{first} against {second}: no difference is shown (95 % sure: it lies between {low} to "
            "{high} %).",
            **names,
            low=low,
            high=high,
        )
    near, far = sorted(abs(e) for e in found.relative_95)
    figures = {
        "size": _percent(abs(found.relative.value)),
        "low": _percent(near),
        "high": _percent(far),
        "seeds": _percent(abs(1 / (1 + found.relative.value) - 1)),
    }
    if found.relative.value > 0:
        return say(
            "{second} against {first}: a gear turn covers {size} more ground (95 % sure: {low} to "
            "{high} more), so the same setting sows {seeds} fewer seeds along the row.",
            **names,
            **figures,
        )
    return say(
        "{second} against {first}: a gear turn covers {size} less ground (95 % sure: {low} to "
        "{high} less), so the same setting sows {seeds} more seeds along the row.",
        **names,
        **figures,
    )


def _side(group: Group, units: UnitSystem) -> str:
    return say(
        "{name} {ground} ({runs}, {passes})",
        name=visible(group.label, 40),
        ground=ground_scale(units).show(group.ground_per_turn),
        runs=many(group.runs, "{count} run", "{count} runs"),
        passes=many(group.passes, "{count} pass", "{count} passes"),
    )


def unit_sentences(found: Sequence[UnitStanding]) -> tuple[str, ...]:
    """Which row unit lags behind its neighbours, or that none does."""
    lagging = [u for u in found if u.lags]
    if not lagging:
        quiet = say("Row units: none turned measurably less than its neighbours.")
        return (quiet,) if found else ()
    return tuple(_lagging(u) for u in lagging)


def _lagging(unit: UnitStanding) -> str:
    low, high = unit.turns_against_others_95
    return many(
        unit.runs,
        "Row unit {unit} lags: it turned {share} less than its neighbours over {count} run (95 % "
        "sure: {low} to {high}). Look at its wheel, chain and bearings, engine off and key out.",
        "Row unit {unit} lags: it turned {share} less than its neighbours over {count} runs (95 % "
        "sure: {low} to {high}). Look at its wheel, chain and bearings, engine off and key out.",
        unit=visible(unit.unit, 20),
        share=_percent(1 - unit.turns_against_others.value),
        low=_percent(1 - high),
        high=_percent(1 - low),
    )


def chart_sentences(chart: Chart, units: UnitSystem) -> tuple[str, ...]:
    """Days that stand out, drift, or that all is quiet."""
    ground = ground_scale(units)
    lines = []
    for point in chart.points:
        if point.out:
            share = point.run.ground_per_turn.value / point.centre - 1
            lines.append(
                say(
                    "{day}: {run} stands out with {ground}, {change} % against its neighbours; wet "
                    "soil, another gear, a unit not down?",
                    day=point.run.day,
                    run=visible(point.run.name, 40),
                    ground=ground.show(point.run.ground_per_turn),
                    change=PERCENT.signed(share, 1),
                )
            )
    drifting = [p for p in chart.points if p.drift]
    if drifting:
        first, last = drifting[0], drifting[-1]
        share = last.average / last.centre - 1
        lines.append(
            say(
                "Ground per turn has drifted by {change} %, seen since {day}; a worn, sinking or "
                "slipping wheel? Measure again before sowing on.",
                change=PERCENT.signed(share, 1),
                day=first.run.day,
            )
        )
    if not lines:
        limits = sum(p.low is not None for p in chart.points)
        lines.append(
            say("No run stands out and no drift shows.")
            if limits
            else say(
                "Too few runs yet to draw limits; a chart needs five of one state of the seeder."
            )
        )
    return tuple(lines)
