"""What the map's script is given: numbers to draw, texts to show, nothing to run."""

from __future__ import annotations

from math import ceil
from typing import Any

from ...core.display import PERCENT, PLAIN, distance_scale, ground_scale
from ...core.result import PassFigure, PassLine, Result
from ...core.safe_text import visible
from .classes import Legend, legend_for
from .drawing import E7, drawn_line, packed

MOST_FIXES = 20_000
"""More raw fixes than this are thinned out for drawing; a map of a field shows no more."""
_NAME_LIMIT = 60
_WINDS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


def run_map_data(result: Result, *, tiles: bool) -> dict[str, Any]:
    """The data of the page. All text is free of control characters."""
    legend = legend_for(result)
    origin = _origin(result)
    figures: dict[int, list[PassFigure]] = {}
    for figure in result.passes:
        figures.setdefault(figure.number, []).append(figure)
    lines = {line.number: line for line in result.lines}
    step = max(1, ceil(len(result.fixes) / MOST_FIXES))
    numbers = sorted(lines.keys() | figures.keys())
    values = _values([figures.get(number, []) for number in numbers], legend, result)
    return {
        "metric": result.units == "metric",
        "tiles": tiles,
        "origin": [round(origin[0] * E7), round(origin[1] * E7)],
        "legend": {
            "title": legend.title,
            "unsure": "too unsure",
            "classes": [
                {"label": label, "colour": colour}
                for label, colour in zip(legend.labels, legend.colours, strict=True)
            ],
        },
        "unitHeadings": ["Unit", "Turns", f"{ground_scale(result.units).unit}/turn", "Slip, %"],
        "passes": [
            {
                "number": number,
                "bed": _names(figures.get(number, []), "bed"),
                "value": value,
                "class": legend.class_of(figures.get(number, [])),
                "line": packed(drawn_line(lines[number]), origin) if number in lines else [],
                "facts": _facts(lines.get(number), figures.get(number, []), result),
                "units": _units(figures.get(number, []), result),
            }
            for number, value in zip(numbers, values, strict=True)
        ],
        "fixes": packed(list(result.fixes[::step]), origin),
        "fixesStep": step,
    }


def _origin(result: Result) -> tuple[float, float]:
    if result.lines:
        return result.lines[0].axis[0]
    return result.fixes[0] if result.fixes else (0.0, 0.0)


def _values(passes: list[list[PassFigure]], legend: Legend, result: Result) -> list[str]:
    """For each pass the value that its colour stands for, the middle row unit's."""
    scale = PERCENT if legend.by_slip else ground_scale(result.units)
    texts = scale.column([legend.middle(figures) for figures in passes])
    return [f"{text} {scale.unit}" if text else "not measured" for text in texts]


def _names(figures: list[PassFigure], field: str) -> str:
    names = dict.fromkeys(visible(getattr(figure, field), _NAME_LIMIT) for figure in figures)
    return ", ".join(name for name in names if name)


def _facts(
    line: PassLine | None, figures: list[PassFigure], result: Result
) -> list[tuple[str, str]]:
    """Heading and text, in the order in which they are shown."""
    facts = [
        (heading, _names(figures, field))
        for heading, field in (("Bed", "bed"), ("Crop", "crop"), ("Setting", "setting"))
    ]
    if figures:
        facts.append(("Length", distance_scale(result.units).show(figures[0].distance)))
    if line:
        facts.append(("Driven", f"towards {_WINDS[round(line.axis_deg / 45) % 8]}"))
    if len(figures) == 1:
        (figure,) = figures
        if figure.unit:
            facts.append(("Row unit", visible(figure.unit, _NAME_LIMIT)))
        facts.append(("Gear turns", _turns(figure)))
        facts.append(("Ground per turn", ground_scale(result.units).show(figure.ground_per_turn)))
        if figure.slip:
            facts.append(("Slip", PERCENT.show(figure.slip)))
    if not figures:
        facts.append(("Gear turns", "none counted"))
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
