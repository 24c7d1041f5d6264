"""An answer of a fleet as one HTML page that asks the network for nothing."""

from __future__ import annotations

from xml.etree.ElementTree import Element

from ..blocks import Sentences
from ..html import html_page, node, resource, style
from ..report.html_table import titled_table
from .answer import FleetAnswer
from .forest import forest_plots


def fleet_html(answer: FleetAnswer) -> str:
    """The page: what is said, the drawing, the tables. It holds no script and runs no text."""
    said: list[Element] = []
    tables: list[Element] = []
    for block in answer.blocks:
        if isinstance(block, Sentences):
            strong = block.strong
            said += [
                node("p", text, class_="use" if i < strong else None)
                for i, text in enumerate(block.sentences)
            ]
        else:
            tables.append(titled_table(block))
    drawn = forest_plots(answer.forest)
    title = f"{answer.forest.title}, {answer.forest.unit}, with 95 % intervals"
    return html_page(
        title=answer.title,
        styles=[style(resource("report", "report.css"))],
        body=[
            node(
                "main",
                node("header", node("h1", answer.title)),
                node("section", *said, class_="verdict", aria_label="Answer"),
                node("section", node("h2", title), *drawn) if drawn else None,
                *tables,
            )
        ],
    )
