"""What is shown, before anything draws it: tables and sentences of plain text.

Terminal and report show these in their own way, so that both say the same.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from ..core.language import English

Side = Literal["left", "right"]

PLUS_MINUS_NOTE = English("± is the half-width of the 95 % interval.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A heading and one cell for each row. ``strong`` is the column that people look for."""

    heading: str
    cells: tuple[str, ...]
    side: Side = "right"
    strong: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Columns of equal length under a title; ``marked`` are the rows that should stand out."""

    title: str
    columns: tuple[Column, ...]
    marked: frozenset[int] = frozenset()

    @property
    def rows(self) -> tuple[tuple[str, ...], ...]:
        """The cells row by row."""
        return tuple(zip(*(column.cells for column in self.columns), strict=True))

    @property
    def has_plus_minus(self) -> bool:
        """Whether any cell holds a ±, which then wants explaining."""
        return any("±" in cell for column in self.columns for cell in column.cells)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sentences:
    """Sentences under a title. The first ``strong`` of them stand out; a ``warning`` does whole."""

    title: str
    sentences: tuple[str, ...]
    strong: int = 0
    warning: bool = False


Block = Table | Sentences


def column(
    heading: str,
    cells: Iterable[str],
    side: Side = "right",
    *,
    strong: bool = False,
) -> Column:
    """A column from any iterable of cells."""
    return Column(heading=heading, cells=tuple(cells), side=side, strong=strong)
