"""What a fleet answers: blocks of text, with what is drawn of them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ...core.display import PERCENT
from ...core.safe_text import visible
from ..blocks import Block
from .forest import Forest, ForestLine

NAME, ROWS = 28, 25
"""Characters of a name, and lines of a table, that are shown; the JSON has them all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FleetAnswer:
    """What is said, and what is drawn under it; ``title`` heads a page."""

    title: str
    blocks: tuple[Block, ...]
    forest: Forest


def share_text(share: float, places: int = 1) -> str:
    """A share as people read it."""
    return f"{PERCENT.number(share, places)} %"


def names(texts: Iterable[str]) -> Iterable[str]:
    """Names fit to be shown in a column."""
    return (visible(t, NAME) for t in texts)


def of_percent(
    name: str, value: float, ends: tuple[float, float], *, marked: bool = False
) -> ForestLine:
    """A line of the drawing from shares."""
    return ForestLine(
        name=name, value=100 * value, low=100 * ends[0], high=100 * ends[1], marked=marked
    )
