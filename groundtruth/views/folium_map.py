"""A folium map of features that show their properties, without a network and without running text.

folium puts what it is given into a Jinja template twice over and into the page as HTML, so a name
from a file could be run there, as a template or as a script. Therefore it is handed GeoJSON only,
and in it every character of a text that is no letter, digit or plain sign stands as a numeric
character reference, which is nothing but that character to all three.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from xml.etree.ElementTree import Element, tostring

from .html import node, script, style
from .map.run_page import TILE_ORIGIN
from .map.vendored import leaflet_css, leaflet_js

if TYPE_CHECKING:
    from folium import Map

_PLAIN = " .,:;-±−°%()"
_CREDIT = '© <a href="https://www.openstreetmap.org/copyright">OpenStreetMap contributors</a>'


@dataclass(frozen=True, slots=True, kw_only=True)
class MapFeature:
    """A line or an outline, (longitude, latitude) in degrees, its colour, and what it shows."""

    places: Sequence[tuple[float, float]]
    closed: bool
    colour: str
    says: Mapping[str, str]


def folium_map(
    features: Sequence[MapFeature],
    *,
    title: str,
    classes: Iterable[tuple[str, str]],
    tiles: bool = False,
) -> Map:
    """The features on a map with a legend of (label, colour), which shows itself in a notebook.

    Headings are ours; what features and legend say may come from files. Headings that no feature
    has a text for are left out. Nothing is loaded from a network, but a background of
    online map tiles where ``tiles`` asks for one.

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
    if features:
        headings = [h for h in features[0].says if any(f.says[h] for f in features)]
        folium.GeoJson(
            {
                "type": "FeatureCollection",
                "features": [_geojson(i, f, headings) for i, f in enumerate(features)],
            },
            style_function=_style,
            tooltip=folium.GeoJsonTooltip([str(i) for i in range(len(headings))], headings),
        ).add_to(shown)
        longitudes, latitudes = zip(*(p for f in features for p in f.places), strict=True)
        shown.fit_bounds([(min(latitudes), min(longitudes)), (max(latitudes), max(longitudes))])
    legend = tostring(_legend(title, classes), encoding="unicode", method="html")
    page.html.add_child(folium.Element(legend.replace("{", "&#123;")), name="legend")
    return shown


def _geojson(index: int, feature: MapFeature, headings: Sequence[str]) -> dict[str, Any]:
    says = {str(i): as_html(feature.says[heading]) for i, heading in enumerate(headings)}
    places = [list(place) for place in feature.places]
    kind, coordinates = ("Polygon", [places]) if feature.closed else ("LineString", places)
    return {
        "type": "Feature",
        "id": str(index),
        "properties": {**says, "colour": feature.colour},
        "geometry": {"type": kind, "coordinates": coordinates},
    }


def _style(feature: dict[str, Any]) -> dict[str, Any]:
    line = feature["geometry"]["type"] == "LineString"
    colour = feature["properties"]["colour"]
    return {"color": colour, "weight": 5 if line else 1, "fillColor": colour, "fillOpacity": 0.8}


def as_html(text: str) -> str:
    """A text as HTML in which no character can do anything but be shown."""
    return "".join(c if c.isalnum() or c in _PLAIN else f"&#{ord(c)};" for c in text)


def _literal(element: Element) -> str:
    """Our own script or style sheet, which no template reads."""
    return f"{{% raw %}}{tostring(element, encoding='unicode', method='html')}{{% endraw %}}"


def _legend(title: str, classes: Iterable[tuple[str, str]]) -> Element:
    """Title and classes in the lower right corner."""
    return node(
        "div",
        node("b", title),
        *(
            node("div", node("span", "■ ", style=f"color: {colour}"), label)
            for label, colour in classes
        ),
        style="position: fixed; right: 10px; bottom: 26px; z-index: 1000; padding: 6px 10px; "
        "background: #fbfaf6; color: #17262b; font: 13px sans-serif",
    )
