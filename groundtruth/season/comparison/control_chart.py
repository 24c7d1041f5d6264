"""A control chart of ground per turn over the season: single days that stand out, and drift.

Individuals chart with the spread from the moving ranges between neighbouring runs of one phase of
the seeder: σ = median moving range / 0.954 (the constant d4 for ranges of two; D. J. Wheeler,
*Understanding Statistical Process Control*, 2nd ed., table A.2, from memory; with the mean range
the constant is d2 = 1.128, NIST/SEMATECH e-Handbook, 6.3.2.2). The median is taken so that a wet
day does not hide itself. Limits stand at 3σ, widened by Student's t for the few ranges there are.

Drift: an exponentially weighted moving average with λ = 0.2 and L = 2.86, in-control run length
about 370 (J. M. Lucas & M. S. Saccucci 1990, Technometrics 32:1, table 3, from memory;
NIST/SEMATECH e-Handbook, 6.3.2.4), widened alike.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import exp, log, sqrt
from statistics import NormalDist, median

from .types import RunFigure

D4_MEDIAN_RANGE = 0.954
"""Median of the range of two normal values over their standard deviation, √2·Φ⁻¹(0.75)."""
LIMIT = 3.0
EWMA_WEIGHT, EWMA_LIMIT = 0.2, 2.86
LEAST_RUNS = 5
"""Fewer runs in a phase than this are shown without limits."""
RANGE_EFFICIENCY = 0.8
"""Degrees of freedom that a moving range brings to the median of them. Our estimate, by
simulation (tests/benchmarks/season.py)."""
FALSE_ALARM_PER_SEASON = 0.05
"""What the chart promises for a quiet season of 12 runs; measured in docs/season.md."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartPoint:
    """A run on the chart; all values are ground per turn in m.

    ``low`` and ``high`` are its limits, None where there are too few runs. ``out`` says that the
    run alone stands out, ``drift`` that the average up to it has left its limits.
    """

    run: RunFigure
    centre: float
    low: float | None
    high: float | None
    average: float
    out: bool
    drift: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """Points in order of the day. ``spread`` is the relative day-to-day spread, 0 if unknown."""

    points: tuple[ChartPoint, ...]
    spread: float


def control_chart(runs: Sequence[RunFigure], *, usual_soil: str | None = None) -> Chart:
    """Chart the runs of one seeder.

    Runs on another soil than ``usual_soil`` (where soils were noted) are shown, judged by nothing
    and kept out of centre and spread: they are explained already.

    Raises
    ------
    ValueError : no run was given.
    """
    if not runs:
        raise ValueError("no run to chart")
    ordered = sorted(runs, key=lambda r: (r.day, r.name))
    judged = [r for r in ordered if usual_soil is None or r.soil in ("", usual_soil)]
    phases = {p: [r for r in judged if r.phase == p] for p in {r.phase for r in ordered}}
    ranges = [
        abs(log(b.ground_per_turn.value / a.ground_per_turn.value))
        for members in phases.values()
        for a, b in pairwise(members)
    ]
    spread = median(ranges) / D4_MEDIAN_RANGE if ranges else 0.0
    usual_u = median(r.ground_per_turn.relative for r in judged) if judged else 0.0
    widen = _widening(len(ranges))
    points = []
    for phase, members in phases.items():
        points += _phase_points(
            [r for r in ordered if r.phase == phase], members, spread, usual_u, widen
        )
    order = {id(r): i for i, r in enumerate(ordered)}
    points.sort(key=lambda p: order[id(p.run)])
    return Chart(points=tuple(points), spread=spread)


def _widening(ranges: int) -> float:
    """Student's t over the normal quantile at the tail of 3σ, for the spread's few ranges."""
    if ranges < LEAST_RUNS - 1:
        return 1.0
    from scipy.special import stdtrit

    tail = NormalDist().cdf(LIMIT)
    return float(stdtrit(max(RANGE_EFFICIENCY * ranges, 2.0), tail)) / LIMIT


def _phase_points(
    shown: Sequence[RunFigure],
    judged: Sequence[RunFigure],
    spread: float,
    usual_u: float,
    widen: float,
) -> list[ChartPoint]:
    base = judged or shown
    logs = {id(r): log(r.ground_per_turn.value) for r in shown}
    centre = median(logs[id(r)] for r in base)
    enough = len(judged) >= LEAST_RUNS and spread > 0
    average, steps, points = centre, 0, []
    for r in shown:
        y, counted = logs[id(r)], r in judged
        own = sqrt(spread**2 + max(0.0, r.ground_per_turn.relative**2 - usual_u**2))
        others = [logs[id(o)] for o in judged if o is not r]
        # against the median of the other runs, whose own error is π/2 of a mean's
        middle = median(others) if others else centre
        reach = LIMIT * widen * own * sqrt(1 + 1.57 / max(len(others), 1))
        out = enough and counted and abs(y - middle) > reach
        drift = False
        if counted and not out:
            steps += 1
            average = EWMA_WEIGHT * y + (1 - EWMA_WEIGHT) * average
            settled = EWMA_WEIGHT / (2 - EWMA_WEIGHT) * (1 - (1 - EWMA_WEIGHT) ** (2 * steps))
            limit = EWMA_LIMIT * widen * spread * sqrt(settled)
            drift = enough and abs(average - centre) > limit
        points.append(
            ChartPoint(
                run=r,
                centre=exp(centre),
                low=exp(middle - reach) if enough and counted else None,
                high=exp(middle + reach) if enough and counted else None,
                average=exp(average),
                out=out,
                drift=drift,
            )
        )
    return points
