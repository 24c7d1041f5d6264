"""What the map's script is given: numbers to draw, texts to show, nothing to run."""

from __future__ import annotations

from math import ceil
from typing import Any

from ...core.backdrop import Backdrop
from ...core.display import PERCENT, PLAIN, distance_scale, ground_scale
from ...core.language import English, map_of_words, said, say
from ...core.measured import Measured
from ...core.result import PassFigure, PassLine, Result, median_unit
from ...core.safe_text import visible
from ..doubts import passes_in_doubt
from . import words
from .backdrop_data import backdrop_data
from .classes import Legend, ground_legend, slip_legend
from .drawing import E7, drawn_line, packed

MOST_FIXES = 20_000
"""More raw fixes than this are thinned out for drawing; a map of a field shows no more."""
_NAME_LIMIT = 60
_TOWARDS = (
    English("towards north"),
    English("towards north-east"),
    English("towards east"),
    English("towards south-east"),
    English("towards south"),
    English("towards south-west"),
    English("towards west"),
    English("towards north-west"),
)


def run_map_data(
    result: Result, *, tiles: bool, backdrop: Backdrop | None = None
) -> dict[str, Any]:
    """The data of the page. All text is free of control characters."""
    legend = legend_for(result)
    scale = PERCENT if _by_slip(result) else ground_scale(result.units)
    origin = _origin(result)
    figures: dict[int, list[PassFigure]] = {}
    for figure in result.passes:
        figures.setdefault(figure.number, []).append(figure)
    lines = {line.number: line for line in result.lines}
    step = max(1, ceil(len(result.fixes) / MOST_FIXES))
    doubted = passes_in_doubt(result)
    numbers = sorted(lines.keys() | figures.keys())
    shown = [shown_value(figures.get(number, []), result) for number in numbers]
    return {
        "metric": result.units == "metric",
        "tiles": tiles,
        "words": map_of_words(words.RUN),
        "origin": [round(origin[0] * E7), round(origin[1] * E7)],
        "legend": {
            "title": legend.title,
            "unsure": say("too unsure"),
            "classes": [
                {"label": label, "colour": colour}
                for label, colour in zip(legend.labels, legend.colours, strict=True)
            ],
        },
        "unitHeadings": [
            say("Unit"),
            say("Turns"),
            say("{unit}/turn", unit=ground_scale(result.units).unit),
            say("Slip, %"),
        ],
        "passes": [
            {
                "number": number,
                "doubt": number in doubted,
                "bed": _names(figures.get(number, []), "bed"),
                "value": f"{text} {scale.unit}" if text else say("not measured"),
                "class": legend.class_of(value),
                "line": packed(drawn_line(lines[number]), origin) if number in lines else [],
                "facts": _facts(lines.get(number), figures.get(number, []), result),
                "units": _units(figures.get(number, []), result),
            }
            for number, value, text in zip(numbers, shown, scale.column(shown), strict=True)
        ],
        "fixes": packed(list(result.fixes[::step]), origin),
        "fixesStep": step,
        "backdrop": backdrop_data(backdrop, origin),
    }


def _origin(result: Result) -> tuple[float, float]:
    if result.lines:
        return result.lines[0].axis[0]
    return result.fixes[0] if result.fixes else (0.0, 0.0)


def legend_for(result: Result) -> Legend:
    """Slip where any pass has it, else ground per turn about the run's own figure."""
    if _by_slip(result):
        return slip_legend()
    return ground_legend(result.ground_per_turn.value, result.units)


def shown_value(figures: list[PassFigure], result: Result) -> Measured | None:
    """What the colour of a pass stands for: the median row unit's slip or ground per turn."""
    median = median_unit(figures)
    if median is None:
        return None
    return median.slip if _by_slip(result) else median.ground_per_turn


def _by_slip(result: Result) -> bool:
    return any(figure.slip is not None for figure in result.passes)


def _names(figures: list[PassFigure], field: str) -> str:
    names = dict.fromkeys(visible(getattr(figure, field), _NAME_LIMIT) for figure in figures)
    return ", ".join(name for name in names if name)


def _facts(
    line: PassLine | None, figures: list[PassFigure], result: Result
) -> list[tuple[str, str]]:
    """Heading and text, in the order in which they are shown."""
    facts = [
        (heading, _names(figures, field))
        for heading, field in (
            (say("Bed"), "bed"),
            (say("Crop"), "crop"),
            (say("Setting"), "setting"),
        )
    ]
    if figures:
        facts.append((say("Length"), distance_scale(result.units).show(figures[0].distance)))
    if line:
        facts.append((say("Driven"), said(_TOWARDS[round(line.axis_deg / 45) % 8])))
    if len(figures) == 1:
        (figure,) = figures
        if figure.unit:
            facts.append((say("Row unit"), visible(figure.unit, _NAME_LIMIT)))
        facts.append((say("Gear turns"), _turns(figure)))
        facts.append(
            (say("Ground per turn"), ground_scale(result.units).show(figure.ground_per_turn))
        )
        if figure.slip:
            facts.append((say("Slip"), PERCENT.show(figure.slip)))
    if not figures:
        facts.append((say("Gear turns"), say("none counted")))
    return [(heading, text) for heading, text in facts if text]


def _units(figures: list[PassFigure], result: Result) -> list[tuple[str, ...]]:
    """For several row units a table: unit, turns, ground per turn and slip without their units."""
    if len(figures) < 2:
        return []
    ground = ground_scale(result.units).column([f.ground_per_turn for f in figures])
    slip = PERCENT.column([f.slip for f in figures])
    return [
        (visible(f.unit, _NAME_LIMIT), _turns(f), ground[i], slip[i]) for i, f in enumerate(figures)
    ]


def _turns(figure: PassFigure) -> str:
    return PLAIN.number(figure.turns.value, 0 if figure.turns.value % 1 == 0 else 1)
