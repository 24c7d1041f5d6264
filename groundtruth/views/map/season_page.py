"""The whole season on one offline map: one HTML file that asks the network for nothing."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path
from xml.etree.ElementTree import Element

from ...core.display import day_text, many
from ...core.run import UnitSystem
from ...season.query import Season, read_season
from ..html import html_page, json_block, node, script, style
from .season_data import map_data
from .vendored import common_js, leaflet_css, leaflet_js, map_css, north_arrow

__all__ = ["season_map_html", "season_map_of"]


def season_map_html(path: Path, *, units: UnitSystem | None = None) -> str:
    """The map of the record at ``path`` as one HTML page.

    Raises
    ------
    SeasonError : there is no record, or it cannot be used.
    """
    season = read_season(path)
    return season_map_of(season, units or season.units)


def season_map_of(season: Season, units: UnitSystem) -> str:
    """The map as one HTML page that needs no network and runs no text of any file."""
    days = sorted({r.day for r in season.runs})
    ends = dict.fromkeys(day_text(d) for d in (days[0], days[-1])) if days else ()
    span = " to ".join(ends) or "nothing recorded yet"
    held = (
        f"{many(len(season.sowings), 'pass', 'passes')} on {many(season.beds, 'bed', 'beds')}, "
        f"{many(len(days), 'day', 'days')}"
    )
    return html_page(
        title=f"The season, {span}: map of the beds",
        styles=[style(leaflet_css()), style(map_css()), style(_own("season.css"))],
        scripts=[
            json_block("map-data", map_data(season, units)),
            script(leaflet_js()),
            script(common_js()),
            script(_own("season.js")),
            script(_own("season_panel.js")),
        ],
        body_class="season",
        body=[
            node(
                "header",
                node("h1", "The season"),
                node("p", span, class_="date"),
                node("p", held, class_="answer"),
                node("p", id="shown", role="status"),
            ),
            node(
                "main",
                node("div", id="map", role="application", aria_label="Map of the beds"),
                north_arrow(),
                node(
                    "noscript",
                    node(
                        "p", "This map needs its own script, which your browser has switched off."
                    ),
                ),
            ),
            _legend(),
            _panel(),
        ],
    )


def _legend() -> Element:
    return node(
        "section",
        node("label", node("span", "Colour by"), node("select", id="mode"), class_="mode"),
        node("h2", id="legend-title"),
        node("ul", id="legend-classes"),
        id="legend",
        aria_labelledby="legend-title",
    )


def _panel() -> Element:
    return node(
        "section",
        node(
            "button",
            "Find a bed, choose days",
            id="panel-button",
            type="button",
            aria_expanded="false",
            aria_controls="panel-body",
        ),
        node(
            "div",
            node(
                "form",
                node("label", "Bed", for_="find"),
                node(
                    "input",
                    id="find",
                    type="search",
                    list="bed-names",
                    autocomplete="off",
                    placeholder="name",
                ),
                node("button", "Find", type="submit"),
                node("datalist", id="bed-names"),
                id="search",
            ),
            node("div", id="found", role="status"),
            node("div", id="odd"),
            node(
                "div",
                node("button", "All days", id="all", type="button"),
                node("button", "No day", id="none", type="button"),
                class_="tools",
            ),
            node("ul", id="days"),
            node(
                "p",
                "± is one standard uncertainty. Strips lie on the bed that their pass was matched "
                "to; where a bed was sown several times the latest day shown lies on top.",
                class_="note",
            ),
            id="panel-body",
        ),
        id="panel",
        aria_label="Beds and days",
    )


def _own(name: str) -> str:
    return files(__package__).joinpath(name).read_text(encoding="utf-8")
