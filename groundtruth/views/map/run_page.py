"""The passes of a run on an offline map: one HTML file that asks the network for nothing."""

from __future__ import annotations

from xml.etree.ElementTree import Element

from ...core.backdrop import Backdrop
from ...core.display import PERCENT, day_text, ground_scale
from ...core.language import many, said, say
from ...core.result import Result
from ...core.safe_text import visible
from ..blocks import PLUS_MINUS_NOTE
from ..html import node, unbroken
from ..sentences.measurement import warning_sentences, watch_sentences
from .page import all_and_none, map_page
from .run_data import run_map_data

TILE_ORIGIN = "https://tile.openstreetmap.org"


def field_map_html(result: Result, *, tiles: bool = False, backdrop: Backdrop | None = None) -> str:
    """The map as one HTML page that needs no network and runs no text of any file.

    ``tiles`` adds a background of online map tiles, which stays away quietly without a network;
    only then may the page load pictures, from that one server. ``backdrop`` is drawn behind all.
    """
    date = day_text(result.date)
    answer = [
        say(
            "{ground} per gear turn", ground=ground_scale(result.units).show(result.ground_per_turn)
        )
    ]
    if result.slip is not None:
        answer.append(say("slip {slip}", slip=PERCENT.show(result.slip)))
    heed = (*watch_sentences(result), *warning_sentences(result))
    name = visible(result.run_name, 80) or say("Run")
    return map_page(
        title=say("{name}, {day}: map of the passes", name=name, day=date),
        header=[
            node("h1", name),
            node("p", date, class_="date"),
            node("p", *(node("span", unbroken(text)) for text in answer), class_="answer"),
        ],
        map_label=say("Map of the passes"),
        panel_label=say("Passes"),
        panel_button=[
            node("span", say("Passes"), " (", node("span", id="count"), ")"),
            node("span", f"· {_to_look_at(len(heed))}", class_="heeds") if heed else None,
        ],
        panel=[
            node(
                "section",
                node("h2", say("Look at this")),
                node("ul", *(node("li", text) for text in heed)),
                class_="heed",
            )
            if heed
            else None,
            all_and_none(say("Show all"), say("Hide all")),
            node("ul", id="passes"),
            _switch("fixes", say("Raw fixes of the phone"), checked=False),
            _switch("tiles", say("Online background"), checked=True) if tiles else None,
            node(
                "p",
                said(PLUS_MINUS_NOTE),
                " ",
                say(
                    "Passes are drawn as the smooth line through their fixes; the number stands "
                    "where a pass begins."
                ),
                class_="note",
            ),
        ],
        data=run_map_data(result, tiles=tiles, backdrop=backdrop),
        scripts=["run.js"],
        images_from=TILE_ORIGIN if tiles else "",
        attribution=_attribution() if tiles else None,
    )


def _to_look_at(count: int) -> str:
    return many(count, "{count} to look at", "{count} to look at")


def _switch(name: str, text: str, *, checked: bool) -> Element:
    box = node("input", type="checkbox", id=name, checked="checked" if checked else None)
    return node("label", box, text, node("span", id=f"{name}-note"), class_="switch")


def _attribution() -> Element:
    """The credit that the tiles' licence asks for (Open Database License, 4.3)."""
    return node(
        "p",
        say("Background: © "),
        node(
            "a", say("OpenStreetMap contributors"), href="https://www.openstreetmap.org/copyright"
        ),
        class_="attribution",
    )
