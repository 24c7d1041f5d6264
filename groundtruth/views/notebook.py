"""Runs and seasons as folium maps, to look at in a notebook beside other data."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..core.display import PERCENT, day_text, distance_scale, ground_scale
from ..core.language import say
from ..core.result import PassFigure, Result, median_unit
from ..core.run import UnitSystem
from ..core.safe_text import visible
from ..season.query import BedSowing, Season
from .folium_map import MapFeature, folium_map
from .map.classes import GREY, UNSURE
from .map.drawing import drawn_line
from .map.run_data import legend_for, shown_value
from .map.season_modes import modes_for
from .tables.season import sure_text

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
        say("Pass"): str(number),
        say("Bed"): _names(figures, "bed"),
        say("Crop"): _names(figures, "crop"),
        say("Setting"): _names(figures, "setting"),
        say("Length"): distance_scale(result.units).show(median.distance) if median else "",
        say("Ground per turn"): ground.show(median.ground_per_turn) if median else "",
        say("Slip"): PERCENT.show(median.slip) if median and median.slip else "",
    }


def season_map(
    season: Season, *, by: str = "crop", units: UnitSystem | None = None, tiles: bool = False
) -> Map:
    """The strips of a season on their beds, later ones on top, coloured ``by`` one of their
    figures; see `folium_map`.

    Raises
    ------
    ValueError : the strips cannot be coloured by this.
    """
    shown_in = units or season.units
    ways = {way.key: way for way in modes_for(season.sowings, shown_in)}
    if by not in ways:
        raise ValueError(f"strips cannot be coloured by {by!r}; there are {', '.join(ways)}")
    way = ways[by]
    in_order = sorted(zip(season.sowings, way.of, strict=True), key=lambda pair: pair[0].day)
    features = [
        MapFeature(
            places=[(lon, lat) for lon, lat in sowing.outline.exterior.coords],
            closed=True,
            colour=GREY if found is None or found == UNSURE else way.classes[found][1],
            says=_of_strip(sowing, shown_in),
        )
        for sowing, found in in_order
    ]
    return folium_map(features, title=way.title, classes=way.classes, tiles=tiles)


def _of_strip(sowing: BedSowing, units: UnitSystem) -> dict[str, str]:
    length, ground = distance_scale(units), ground_scale(units)
    return {
        say("Bed"): visible(sowing.bed, _NAME_LIMIT),
        say("Block"): visible(sowing.block, _NAME_LIMIT),
        say("Sown on"): day_text(sowing.day),
        say("Crop"): visible(sowing.crop, _NAME_LIMIT),
        say("Setting"): visible(sowing.setting, _NAME_LIMIT),
        say("Length"): f"{length.number(sowing.length_m, 0)} {length.unit}",
        say("Ground per turn"): ground.show(sowing.ground_per_turn)
        if sowing.ground_per_turn
        else "",
        say("Slip"): PERCENT.show(sowing.slip) if sowing.slip else "",
        say("Sure of the bed"): sure_text(sowing.sure),
    }


def _names(figures: list[PassFigure], name: str) -> str:
    texts = dict.fromkeys(visible(getattr(figure, name), _NAME_LIMIT) for figure in figures)
    return ", ".join(text for text in texts if text)
