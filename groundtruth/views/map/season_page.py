"""The whole season on one offline map: one HTML file that asks the network for nothing."""

from __future__ import annotations

from pathlib import Path
from xml.etree.ElementTree import Element

from ...core.backdrop import Backdrop
from ...core.display import day_text, span
from ...core.language import many, said, say
from ...core.run import UnitSystem
from ...season.query import Season, read_season
from ..blocks import PLUS_MINUS_NOTE
from ..html import node
from .page import all_and_none, map_page
from .season_data import season_map_data

__all__ = ["season_map_html", "season_map_of"]


def season_map_html(
    path: Path, *, units: UnitSystem | None = None, backdrop: Backdrop | None = None
) -> str:
    """The map of the record at ``path`` as one HTML page, ``backdrop`` behind it.

    Raises
    ------
    SeasonError : there is no record, or it cannot be used.
    """
    season = read_season(path)
    return season_map_of(season, units or season.units, backdrop)


def season_map_of(season: Season, units: UnitSystem, backdrop: Backdrop | None = None) -> str:
    """The map as one HTML page that needs no network and runs no text of any file."""
    days = sorted({r.day for r in season.runs})
    ends = dict.fromkeys(day_text(d) for d in (days[0], days[-1])) if days else ()
    when = span(*ends) if len(ends) == 2 else "".join(ends) or say("nothing recorded yet")
    held = say(
        "{passes} {beds}, {days}",
        passes=many(len(season.sowings), "{count} pass", "{count} passes"),
        beds=many(len(season.beds), "on {count} bed", "on {count} beds"),
        days=many(len(days), "{count} day", "{count} days"),
    )
    return map_page(
        title=say("The season, {when}: map of the beds", when=when),
        header=[
            node("h1", say("The season")),
            node("p", when, class_="date"),
            node("p", held, class_="answer"),
            node("p", id="shown", role="status"),
        ],
        map_label=say("Map of the beds"),
        legend=[
            node("label", node("span", say("Colour by")), node("select", id="mode"), class_="mode")
        ],
        panel_label=say("Beds and days"),
        panel_button=[say("Find a bed, choose days")],
        panel=[
            _search(),
            node("div", id="found", role="status"),
            node("div", id="anomalies"),
            all_and_none(say("All days"), say("No day")),
            node("ul", id="days"),
            node(
                "p",
                said(PLUS_MINUS_NOTE),
                " ",
                say(
                    "Strips lie on the bed that their pass was matched to; where a bed was sown "
                    "several times the latest day shown lies on top."
                ),
                class_="note",
            ),
        ],
        data=season_map_data(season, units, backdrop),
        scripts=["season.js", "season_panel.js", "season_print.js"],
        styles=["season.css"],
        body_class="season",
    )


def _search() -> Element:
    return node(
        "form",
        node("label", say("Bed"), for_="find"),
        node(
            "input",
            id="find",
            type="search",
            list="bed-names",
            autocomplete="off",
            placeholder=say("name"),
        ),
        node("button", say("Find"), type="submit"),
        node("datalist", id="bed-names"),
        id="search",
    )
