"""A run's passes as a folium map, to look at in a notebook beside other data.

folium puts what it is given into a Jinja template twice over and into the page as HTML, so a name
from a file could be run there, as a template or as a script. Therefore it is handed GeoJSON only,
and in it every character of a text that is no letter, digit or plain sign stands as a numeric
character reference, which is nothing but that character to all three.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any
from xml.etree.ElementTree import tostring

from ..core.display import PERCENT, distance_scale, ground_scale
from ..core.result import PassFigure, PassLine, Result, median_unit
from ..core.safe_text import visible
from .html import node, script, style
from .map.classes import Legend
from .map.drawing import drawn_line
from .map.run_data import legend_for, shown_value
from .map.run_page import TILE_ORIGIN
from .map.vendored import leaflet_css, leaflet_js

if TYPE_CHECKING:
    from folium import Map

_NAME_LIMIT = 60
_PLAIN = " .,:;-±−°%()"
_CREDIT = '© <a href="https://www.openstreetmap.org/copyright">OpenStreetMap contributors</a>'


def result_map(result: Result, *, tiles: bool = False) -> Map:
    """The passes on a map that shows itself in a notebook, coloured by slip or ground per turn.

    Nothing is loaded from a network, but a background of online map tiles where ``tiles`` asks for
    one.

    Raises
    ------
    ImportError : folium is not installed.
    """
    import folium

    shown = folium.Map(tiles=None, control_scale=True, zoom_snap=0.25, max_zoom=23)
    # the page brings Leaflet along; folium's other libraries serve nothing that is used here
    shown.default_js, shown.default_css = [], []
    page: Any = shown.get_root()
    page.header.add_child(folium.Element(_literal(style(leaflet_css()))), name="leaflet_css")
    page.header.add_child(folium.Element(_literal(script(leaflet_js()))), name="leaflet")
    if tiles:
        address = f"{TILE_ORIGIN}/{{z}}/{{x}}/{{y}}.png"
        folium.TileLayer(address, attr=_CREDIT, max_native_zoom=19, max_zoom=23).add_to(shown)
    legend = legend_for(result)
    features = _features(result, legend)
    if features:
        names = [n for n in _ALIASES if any(f["properties"][n] for f in features)]
        folium.GeoJson(
            {"type": "FeatureCollection", "features": features},
            style_function=lambda feature: {"color": feature["properties"]["colour"], "weight": 5},
            tooltip=folium.GeoJsonTooltip(names, [_ALIASES[n] for n in names], sticky=True),
        ).add_to(shown)
        places = [(lat, lon) for f in features for lon, lat in f["geometry"]["coordinates"]]
        south_west, north_east = ([pick(axis) for axis in zip(*places, strict=True)]
                                  for pick in (min, max))  # fmt: skip
        shown.fit_bounds([south_west, north_east])
    page.html.add_child(folium.Element(_literal(_legend(legend))), name="legend")
    return shown


_ALIASES = {
    "number": "Pass",
    "bed": "Bed",
    "crop": "Crop",
    "setting": "Setting",
    "length": "Length",
    "ground_per_turn": "Ground per turn",
    "slip": "Slip",
}


def _features(result: Result, legend: Legend) -> list[dict[str, Any]]:
    figures: dict[int, list[PassFigure]] = {}
    for figure in result.passes:
        figures.setdefault(figure.number, []).append(figure)
    return [
        {
            "type": "Feature",
            "id": str(line.number),
            "properties": _properties(line, figures.get(line.number, []), legend, result),
            "geometry": {"type": "LineString", "coordinates": drawn_line(line)},
        }
        for line in result.lines
    ]


def _properties(
    line: PassLine, figures: list[PassFigure], legend: Legend, result: Result
) -> dict[str, str]:
    """What a pass shows, as HTML that is text only; the median row unit stands for all."""
    median = median_unit(figures)
    said = {
        "number": str(line.number),
        **{name: _names(figures, name) for name in ("bed", "crop", "setting")},
        "length": distance_scale(result.units).show(median.distance) if median else "",
        "ground_per_turn": (
            ground_scale(result.units).show(median.ground_per_turn) if median else ""
        ),
        "slip": PERCENT.show(median.slip) if median and median.slip else "",
    }
    return {name: _text(text) for name, text in said.items()} | {
        "colour": legend.colour_of(shown_value(figures, result))
    }


def _names(figures: list[PassFigure], name: str) -> str:
    texts = dict.fromkeys(visible(getattr(figure, name), _NAME_LIMIT) for figure in figures)
    return ", ".join(text for text in texts if text)


def _text(text: str) -> str:
    """A text as HTML in which no character can do anything but be shown."""
    return "".join(c if c.isalnum() or c in _PLAIN else f"&#{ord(c)};" for c in text)


def _literal(element: Any) -> str:
    """Our own HTML, which no template reads."""
    return f"{{% raw %}}{tostring(element, encoding='unicode', method='html')}{{% endraw %}}"


def _legend(legend: Legend) -> Any:
    """Title and classes in the lower right corner."""
    return node(
        "div",
        node("b", legend.title),
        *(
            node("div", node("span", "■ ", style=f"color: {colour}"), label)
            for label, colour in zip(legend.labels, legend.colours, strict=True)
        ),
        style="position: fixed; right: 10px; bottom: 26px; z-index: 1000; padding: 6px 10px; "
        "background: #fbfaf6; color: #17262b; font: 13px sans-serif",
    )
