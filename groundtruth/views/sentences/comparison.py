"""What a comparison says, in plain sentences."""

from __future__ import annotations

from collections.abc import Sequence

from ...core.display import PERCENT, ground_scale, many
from ...core.run import UnitSystem
from ...core.safe_text import visible
from ...season.comparison.control_chart import Chart
from ...season.comparison.difference import Difference, UnitStanding
from ...season.comparison.types import Covariate

_COVARIATES = {Covariate.SOIL: "soil", Covariate.PHASE: "changes of the seeder"}


def _percent(share: float, places: int = 1) -> str:
    return f"{PERCENT.number(share, places)} %"


def difference_sentences(found: Difference, units: UnitSystem) -> tuple[str, ...]:
    """Difference with interval, what it rests on, and what could not have been shown."""
    ground = ground_scale(units)
    first, second = visible(found.first.label, 40), visible(found.second.label, 40)
    size = abs(found.relative.value)
    more = "more" if found.relative.value > 0 else "less"
    low, high = sorted(abs(e) for e in found.relative_95)
    sows = "fewer" if found.relative.value > 0 else "more"
    seeds = abs(1 / (1 + found.relative.value) - 1)
    if found.shown:
        says = (
            f"{second} against {first}: a gear turn covers {_percent(size)} {more} ground "
            f"(95 % sure: {_percent(low)} to {_percent(high)} {more}), so the same setting sows "
            f"{_percent(seeds)} {sows} seeds along the row."
        )
    else:
        ends = " to ".join(PERCENT.signed(e, 1) for e in found.relative_95)
        says = (
            f"{first} against {second}: no difference is shown "
            f"(95 % sure: it lies between {ends} %)."
        )
    sides = "; ".join(
        f"{visible(g.label, 40)} {ground.show(g.ground_per_turn)} "
        f"({many(g.runs, 'run', 'runs')}, {many(g.passes, 'pass', 'passes')})"
        for g in (found.first, found.second)
    )
    lines = [
        says,
        f"Ground per gear turn: {sides}.",
        f"A change of {_percent(found.smallest)} would have shown with these runs 4 times in 5; "
        "a smaller one may well be missed.",
    ]
    if found.allowed_for:
        lines.append(f"Allowed for: {' and '.join(_COVARIATES[c] for c in found.allowed_for)}.")
    if found.welch is not None:
        low, high = found.welch.interval
        lines.append(
            "Welch's test on the runs' figures alone: "
            f"{PERCENT.signed(found.welch.difference, 1)} % "
            f"({PERCENT.signed(low, 1)} to {PERCENT.signed(high, 1)} %), "
            f"p = {found.welch.p_value:.2g}."
        )
    return tuple(lines)


def unit_sentences(found: Sequence[UnitStanding]) -> tuple[str, ...]:
    """Which row unit lags behind its neighbours, or that none does."""
    lagging = [u for u in found if u.lags]
    if not lagging:
        return ("Row units: none turned measurably less than its neighbours.",) if found else ()
    return tuple(_lagging(u) for u in lagging)


def _lagging(unit: UnitStanding) -> str:
    low, high = unit.turns_against_others_95
    return (
        f"Row unit {visible(unit.unit, 20)} lags: it turned "
        f"{_percent(1 - unit.turns_against_others.value)} less than its neighbours over "
        f"{many(unit.runs, 'run', 'runs')} (95 % sure: {_percent(1 - high)} to "
        f"{_percent(1 - low)}). Look at its wheel, chain and bearings, engine off and key out."
    )


def chart_sentences(chart: Chart, units: UnitSystem) -> tuple[str, ...]:
    """Days that stand out, drift, or that all is quiet."""
    ground = ground_scale(units)
    lines = []
    for point in chart.points:
        if point.out:
            share = point.run.ground_per_turn.value / point.centre - 1
            lines.append(
                f"{point.run.day}: {visible(point.run.name, 40)} stands out with "
                f"{ground.show(point.run.ground_per_turn)}, {PERCENT.signed(share, 1)} % against "
                "its neighbours; wet soil, another gear, a unit not down?"
            )
    drifting = [p for p in chart.points if p.drift]
    if drifting:
        first, last = drifting[0], drifting[-1]
        share = last.average / last.centre - 1
        lines.append(
            f"Ground per turn has drifted by {PERCENT.signed(share, 1)} %, seen since "
            f"{first.run.day}; a worn, sinking or slipping wheel? Measure again before sowing on."
        )
    if not lines:
        limits = sum(p.low is not None for p in chart.points)
        lines.append(
            "No run stands out and no drift shows."
            if limits
            else "Too few runs yet to draw limits; a chart needs five of one state of the seeder."
        )
    return tuple(lines)
