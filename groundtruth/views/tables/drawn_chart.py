"""The control chart drawn in plain characters, which every terminal has."""

from __future__ import annotations

from ...core.language import say
from ...season.comparison import Chart
from ...season.comparison.control_chart import ChartPoint
from ..blocks import Table, column

WIDTH = 41
_LIMIT, _CENTRE, _RUN, _ODD = "|", ":", "o", "X"


def drawn_chart(chart: Chart) -> Table:
    """A line for each run: its value between its limits, least to the left, on one scale."""
    shown = [
        value
        for p in chart.points
        for value in (p.low, p.high, p.centre, p.run.ground_per_turn.value)
        if value is not None
    ]
    least, most = min(shown), max(shown)
    return Table(
        title=say("The chart drawn: | limits, : middle, o a run, X one that stands out or drifts"),
        columns=(
            column(say("day"), (p.run.day for p in chart.points), "left"),
            column("", (_line(p, least, most) for p in chart.points), "left"),
        ),
        marked=frozenset(i for i, p in enumerate(chart.points) if p.out or p.drift),
    )


def _line(point: ChartPoint, least: float, most: float) -> str:
    """One run; what comes later covers what stands in its place."""
    cells = [" "] * WIDTH
    for value, mark in (
        (point.low, _LIMIT),
        (point.high, _LIMIT),
        (point.centre, _CENTRE),
        (point.run.ground_per_turn.value, _ODD if point.out or point.drift else _RUN),
    ):
        if value is not None:
            share = (value - least) / (most - least) if most > least else 0.5
            cells[round(share * (WIDTH - 1))] = mark
    return "".join(cells).rstrip()
