"""Runs as folium maps, to look at in a notebook beside other data."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..core.display import PERCENT, distance_scale, ground_scale
from ..core.result import PassFigure, Result, median_unit
from ..core.safe_text import visible
from .folium_map import MapFeature, folium_map
from .map.drawing import drawn_line
from .map.run_data import legend_for, shown_value

if TYPE_CHECKING:
    from folium import Map

_NAME_LIMIT = 60


def result_map(result: Result, *, tiles: bool = False) -> Map:
    """The passes of a run, coloured by slip or ground per turn; see `folium_map`."""
    legend = legend_for(result)
    figures: dict[int, list[PassFigure]] = {}
    for figure in result.passes:
        figures.setdefault(figure.number, []).append(figure)
    features = [
        MapFeature(
            places=drawn_line(line),
            closed=False,
            colour=legend.colour_of(shown_value(figures.get(line.number, []), result)),
            says=_of_pass(line.number, figures.get(line.number, []), result),
        )
        for line in result.lines
    ]
    classes = zip(legend.labels, legend.colours, strict=True)
    return folium_map(features, title=legend.title, classes=classes, tiles=tiles)


def _of_pass(number: int, figures: list[PassFigure], result: Result) -> dict[str, str]:
    """What a pass shows; the median row unit stands for all."""
    median, ground = median_unit(figures), ground_scale(result.units)
    return {
        "Pass": str(number),
        "Bed": _names(figures, "bed"),
        "Crop": _names(figures, "crop"),
        "Setting": _names(figures, "setting"),
        "Length": distance_scale(result.units).show(median.distance) if median else "",
        "Ground per turn": ground.show(median.ground_per_turn) if median else "",
        "Slip": PERCENT.show(median.slip) if median and median.slip else "",
    }


def _names(figures: list[PassFigure], name: str) -> str:
    texts = dict.fromkeys(visible(getattr(figure, name), _NAME_LIMIT) for figure in figures)
    return ", ".join(text for text in texts if text)
