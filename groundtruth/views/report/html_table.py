"""A table as HTML. On a phone each row becomes a few lines, every figure beside its heading."""

from __future__ import annotations

from xml.etree.ElementTree import Element

from ...core.language import said
from ..blocks import PLUS_MINUS_NOTE, Column, Table
from ..html import node

_WHOLE = 14
"""Names up to this many characters are not broken into lines."""


def titled_table(table: Table, class_: str | None = None) -> Element:
    """The table under its title."""
    head = node(
        "tr", *(node("th", c.heading, scope="col", class_=_looks(c)) for c in table.columns)
    )
    rows = [
        node(
            "tr",
            *(
                node("td", cell, class_=_looks(column, cell), data_heading=column.heading or None)
                for cell, column in zip(row, table.columns, strict=True)
            ),
            class_="marked" if index in table.marked else None,
        )
        for index, row in enumerate(table.rows)
    ]
    return node(
        "section",
        node("h2", table.title),
        node(
            "table",
            node("thead", head),
            node("tbody", *rows),
            class_=" ".join(filter(None, ["rows", class_])),
        ),
        node("p", said(PLUS_MINUS_NOTE), class_="note") if table.has_plus_minus else None,
    )


def _looks(column: Column, cell: str = "") -> str | None:
    classes = {
        "left": column.side == "left",
        "whole": column.side == "left" and len(cell) <= _WHOLE,
        "new": column.strong,
    }
    return " ".join(name for name, yes in classes.items() if yes) or None
