"""The list of beds as one HTML page without script or network, black on white, to print."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from xml.etree.ElementTree import Element

from ...beds.anomalies import SURE
from ...core.beds import BlockBed
from ...core.display import day_text
from ...core.language import say
from ...core.safe_text import visible
from ...season.query import BedSowing, Season
from ..html import html_page, node, resource, style, unbroken

_NAME = 40
_WHOLE = 14
"""Texts up to this many characters are not broken inside a word."""


def bed_list_html(season: Season, *, made_on: date) -> str:
    """Every bed in its place, with crop, setting and day of each sowing, the latest first.

    The seeder stands beside them where one is named. A bed of which a pass is not sure is marked.
    """
    title = ", ".join(_names(season)) or say("Beds")
    day = day_text(made_on.isoformat())
    doubtful = any(sowing.sure < SURE for sowing in season.sowings)
    return html_page(
        title=say("{title}: list of beds, {day}", title=title, day=day),
        styles=[style(resource("bed_list", "bed_list.css"))],
        body=[
            node(
                "main",
                node(
                    "header",
                    node("h1", title),
                    node("p", say("List of beds of {day}", day=day)),
                ),
                *(_block(season, block) for block in season.blocks),
                node("p", say("? The bed is not sure: look."), class_="note") if doubtful else None,
                node("p", say("Nothing was sown yet.")) if not season.beds else None,
            )
        ],
    )


def _names(season: Season) -> list[str]:
    """Farms and fields of the record, each once."""
    kept = [run.recorded for run in season.runs]
    names = (run.get(what, "") for what in ("farm", "field") for run in kept)
    return [visible(name, _NAME) for name in dict.fromkeys(names) if name]


def _block(season: Season, block: str) -> Element:
    beds = [bed for bed in season.beds if bed.block == block]
    sowings: dict[str, list[BedSowing]] = {bed.name: [] for bed in beds}
    for sowing in season.sowings:
        if sowing.block == block:
            sowings.setdefault(sowing.bed, []).append(sowing)
    headings = [say("Bed"), say("Crop"), say("Setting"), say("Sown")]
    if season.seeders:
        headings.append(say("Seeder"))
    return node(
        "section",
        node("h2", say("Block {name}", name=visible(block, _NAME)))
        if len(season.blocks) > 1
        else None,
        node(
            "table",
            node("thead", node("tr", *(node("th", text, scope="col") for text in headings))),
            *(_bed(bed, sowings[bed.name], named=bool(season.seeders)) for bed in beds),
        ),
    )


def _bed(bed: BlockBed, sowings: Sequence[BedSowing], *, named: bool) -> Element:
    """A bed with its sowings, which no page break parts."""
    latest_first = sorted(sowings, key=lambda s: (s.day, s.number), reverse=True)
    cells = [
        [
            visible(s.crop, _NAME),
            visible(s.setting, _NAME),
            unbroken(day_text(s.day)) + (" ?" if s.sure < SURE else ""),
            *([visible(s.seeder, _NAME)] if named else []),
        ]
        for s in latest_first
    ] or [["", "", "", *([""] if named else [])]]
    rows = [
        node(
            "tr",
            node("th", visible(bed.name, _NAME), scope="rowgroup", rowspan=str(len(cells)))
            if number == 0
            else None,
            *(node("td", cell, class_="whole" if len(cell) <= _WHOLE else None) for cell in row),
            class_="earlier" if number else None,
        )
        for number, row in enumerate(cells)
    ]
    return node("tbody", *rows)
