"""The whole season on one offline map: one HTML file that asks the network for nothing."""

from __future__ import annotations

from pathlib import Path
from xml.etree.ElementTree import Element

from ...core.display import day_text, many
from ...core.run import UnitSystem
from ...season.query import Season, read_season
from ..blocks import PLUS_MINUS_NOTE
from ..html import node
from .page import all_and_none, map_page
from .season_data import season_map_data

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
        f"{many(len(season.sowings), 'pass', 'passes')} on "
        f"{many(len(season.beds), 'bed', 'beds')}, {many(len(days), 'day', 'days')}"
    )
    return map_page(
        title=f"The season, {span}: map of the beds",
        header=[
            node("h1", "The season"),
            node("p", span, class_="date"),
            node("p", held, class_="answer"),
            node("p", id="shown", role="status"),
        ],
        map_label="Map of the beds",
        legend=[node("label", node("span", "Colour by"), node("select", id="mode"), class_="mode")],
        panel_label="Beds and days",
        panel_button=["Find a bed, choose days"],
        panel=[
            _search(),
            node("div", id="found", role="status"),
            node("div", id="anomalies"),
            all_and_none("All days", "No day"),
            node("ul", id="days"),
            node(
                "p",
                f"{PLUS_MINUS_NOTE} Strips lie on the bed that their pass was matched to; where a "
                "bed was sown several times the latest day shown lies on top.",
                class_="note",
            ),
        ],
        data=season_map_data(season, units),
        scripts=["season.js", "season_panel.js", "season_print.js"],
        styles=["season.css"],
        body_class="season",
    )


def _search() -> Element:
    return node(
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
    )
