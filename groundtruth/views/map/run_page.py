"""The passes of a run on an offline map: one HTML file that asks the network for nothing."""

from __future__ import annotations

from importlib.resources import files
from xml.etree.ElementTree import Element

from ...core.display import PERCENT, day_text, ground_scale
from ...core.result import Result
from ...core.safe_text import visible
from ..html import html_page, json_block, node, script, style, unbroken
from .run_data import run_map_data
from .vendored import common_js, leaflet_css, leaflet_js, north_arrow

__all__ = ["field_map_html"]

TILE_ORIGIN = "https://tile.openstreetmap.org"


def field_map_html(result: Result, *, tiles: bool = False) -> str:
    """The map as one HTML page that needs no network and runs no text of any file.

    ``tiles`` adds a background of online map tiles, which stays away quietly without a network;
    only then may the page load pictures, from that one server.
    """
    date = day_text(result.date)
    ground = ground_scale(result.units)
    answer = [f"{ground.show(result.ground_per_turn)} per gear turn"]
    if result.slip is not None:
        answer.append(f"slip {PERCENT.show(result.slip)}")
    name = visible(result.run_name, 80) or "Run"
    return html_page(
        title=f"{name}, {date}: map of the passes",
        styles=[style(leaflet_css()), style(_own("run.css"))],
        scripts=[
            json_block("map-data", run_map_data(result, tiles=tiles)),
            script(leaflet_js()),
            script(common_js()),
            script(_own("run.js")),
        ],
        images_from=TILE_ORIGIN if tiles else "",
        body=[
            node(
                "header",
                node("h1", name),
                node("p", date, class_="date"),
                node(
                    "p",
                    *(node("span", unbroken(text)) for text in answer),
                    class_="answer",
                ),
            ),
            node(
                "main",
                node("div", id="map", role="application", aria_label="Map of the passes"),
                north_arrow(),
                _attribution() if tiles else None,
                node(
                    "noscript",
                    node(
                        "p", "This map needs its own script, which your browser has switched off."
                    ),
                ),
            ),
            _legend(),
            _panel(tiles),
        ],
    )


def _legend() -> Element:
    return node(
        "section",
        node("h2", id="legend-title"),
        node("ul", id="legend-classes"),
        id="legend",
        aria_labelledby="legend-title",
    )


def _panel(tiles: bool) -> Element:
    return node(
        "section",
        node(
            "button",
            node("span", "Passes (", node("span", id="count"), ")"),
            id="panel-button",
            type="button",
            aria_expanded="false",
            aria_controls="panel-body",
        ),
        node(
            "div",
            node(
                "div",
                node("button", "Show all", id="all", type="button"),
                node("button", "Hide all", id="none", type="button"),
                class_="tools",
            ),
            node("ul", id="passes"),
            _switch("fixes", "Raw fixes of the phone", checked=False),
            _switch("tiles", "Online background", checked=True) if tiles else None,
            node(
                "p",
                "± is one standard uncertainty. Passes are drawn as the smooth line through their "
                "fixes; the number stands where a pass begins.",
                class_="note",
            ),
            id="panel-body",
        ),
        id="panel",
        aria_label="Passes",
    )


def _switch(name: str, text: str, *, checked: bool) -> Element:
    box = node("input", type="checkbox", id=name, checked="checked" if checked else None)
    return node("label", box, text, node("span", id=f"{name}-note"), class_="switch")


def _attribution() -> Element:
    """The credit that the tiles' licence asks for (Open Database License, 4.3)."""
    return node(
        "p",
        "Background: © ",
        node("a", "OpenStreetMap contributors", href="https://www.openstreetmap.org/copyright"),
        class_="attribution",
    )


def _own(name: str) -> str:
    return files(__package__).joinpath(name).read_text(encoding="utf-8")
