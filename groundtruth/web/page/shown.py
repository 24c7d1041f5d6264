"""Tables and sentences of the views as JSON, for the page to draw."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from ...views.blocks import Block, Table


def blocks_json(blocks: Iterable[Block]) -> list[dict[str, Any]]:
    """Each block with its title; a table by rows, sentences as they are."""
    return [_table_json(b) if isinstance(b, Table) else _said_json(b) for b in blocks]


def _table_json(table: Table) -> dict[str, Any]:
    return {
        "title": table.title,
        "heads": [c.heading for c in table.columns],
        "rows": [list(row) for row in table.rows],
        "marked": sorted(table.marked),
    }


def _said_json(block: Any) -> dict[str, Any]:
    return {
        "title": block.title,
        "sentences": list(block.sentences),
        "strong": block.strong,
        "warning": block.warning,
    }
