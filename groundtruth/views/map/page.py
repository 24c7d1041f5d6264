"""What every map page is made of: the map with its legend, and a panel that opens beside it."""

from __future__ import annotations

from collections.abc import Iterable
from xml.etree.ElementTree import Element

from ...core.language import English, said
from ..html import Child, html_page, json_block, node, resource, script, style
from .vendored import leaflet_css, leaflet_js, north_arrow


def map_page(
    *,
    title: str,
    header: Iterable[Child],
    map_label: str,
    legend: Iterable[Child] = (),
    panel_label: str,
    panel_button: Iterable[Child],
    panel: Iterable[Child],
    data: object,
    scripts: Iterable[str],
    styles: Iterable[str] = (),
    images_from: str = "",
    attribution: Element | None = None,
    body_class: str | None = None,
) -> str:
    """A whole page with a map, which runs no text of any file.

    ``legend`` stands above the legend's own title and classes. ``scripts`` and ``styles`` name our
    files beside this one, which follow those that all maps share; the scripts find ``data``, the
    map and the parts of legend and panel by their ids. Pictures come from the origin
    ``images_from`` only, where one is given.
    """
    return html_page(
        title=title,
        styles=[style(leaflet_css()), *(style(_own(name)) for name in ("map.css", *styles))],
        scripts=[
            json_block("map-data", data),
            script(leaflet_js()),
            *(
                script(_own(name))
                for name in ("backdrop.js", "own_position.js", "common.js", *scripts)
            ),
        ],
        images_from=images_from,
        body_class=body_class,
        body=[
            node("header", *header),
            node(
                "main",
                node("div", id="map", role="application", aria_label=map_label),
                north_arrow(),
                attribution,
                node("noscript", node("p", said(_NO_SCRIPT))),
            ),
            node(
                "section",
                *legend,
                node("h2", id="legend-title"),
                node("ul", id="legend-classes"),
                id="legend",
                aria_labelledby="legend-title",
            ),
            node(
                "section",
                node(
                    "button",
                    *panel_button,
                    id="panel-button",
                    type="button",
                    aria_expanded="false",
                    aria_controls="panel-body",
                ),
                node("div", *panel, id="panel-body"),
                id="panel",
                aria_label=panel_label,
            ),
        ],
    )


_NO_SCRIPT = English("This map needs its own script, which your browser has switched off.")


def all_and_none(shown: str, hidden: str) -> Element:
    """The two buttons above a list that show all of it or none."""
    return node(
        "div",
        node("button", shown, id="all", type="button"),
        node("button", hidden, id="none", type="button"),
        class_="tools",
    )


def _own(name: str) -> str:
    return resource("map", name)
