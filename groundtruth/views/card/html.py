"""The card as one HTML page without script or network, black on white, to print on one sheet."""

from __future__ import annotations

from xml.etree.ElementTree import Element

from ...core.language import said, say
from ..html import html_page, node, resource, style
from ..sentences.cautions import cautions
from .content import Card, CardCrop

CROPS_ON_A_SHEET = 4
"""More crops than this go onto further sheets; no crop is ever cut in two."""


def card_html(card: Card) -> str:
    """The page; text from files can only become text in it."""
    crops = len(card.crops)
    size = "one" if crops == 1 else "two" if crops == 2 else "few"
    return html_page(
        title=say("{title}: seeder card, {day}", title=card.title, day=card.made_on),
        styles=[style(resource("card", "card.css"))],
        body_class=size,
        body=[
            node(
                "main",
                node(
                    "header",
                    node("h1", card.title),
                    node("p", say("Card of {day}", day=card.made_on)),
                ),
                node("p", say("Beds {names}", names=card.beds), class_="beds")
                if card.beds
                else None,
                node("p", card.alarm, class_="alarm", role="alert") if card.alarm else None,
                node("p", card.rests_on, class_="rests"),
                *(_crop(crop) for crop in card.crops),
                node("section", *(node("p", note) for note in card.notes), class_="notes"),
                node(
                    "section",
                    node("h2", say("Cautions")),
                    node("ul", *(node("li", caution) for caution in cautions())),
                    class_="cautions",
                ),
            )
        ],
    )


def _crop(crop: CardCrop) -> Element:
    return node(
        "article",
        node("h2", crop.name),
        node(
            "dl",
            _large(say("Setting"), crop.setting),
            _large(say("Turns"), crop.turns),
            _large(
                say("Seeds"), "–".join(crop.seeds), say("{seeds} expected", seeds=crop.expected)
            ),
            class_="large",
        ),
        node(
            "ul",
            *(
                node("li", node("b", f"{said(what)}: "), figure, class_=what)
                for what, figure in crop.in_bed
            ),
            class_="bed",
        ),
        node("p", " ".join(crop.remarks), class_="remark") if crop.remarks else None,
    )


def _large(word: str, figure: str, small: str = "") -> Element:
    return node(
        "div",
        node("dt", word),
        node("dd", figure),
        node("dd", small, class_="small") if small else None,
    )
