"""Which columns a table has, by its headings; a heading that is not understood is named."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ...core.errors import SheetError
from ...core.language import English
from ...core.safe_text import clean
from ...core.written import did_you_mean
from ..tally import Tally
from .csv_rows import SheetTable
from .headings import REMARKS, column_of, label_of, word_of


@dataclass(frozen=True, slots=True)
class SheetColumns:
    """Where the columns are, the units in their headings, the labels of spread ones, and which
    hold remarks."""

    place: dict[str, int]
    units: dict[str, str]
    spread: dict[int, str]
    remarks: list[int]

    def counts(self, spread: tuple[str, str] | None) -> list[int]:
        """Places of the columns that a total row sums."""
        if self.spread:
            return list(self.spread)
        return [self.place[spread[0]]] if spread and spread[0] in self.place else []

    def key(self, first: str) -> int | None:
        """Place of the column that every row but a total has filled, None for none."""
        names = [
            name
            for name in (first, "track_pass", "bed")
            if name in self.place and "time" not in self.place
        ]
        return self.place[names[0]] if names else None


def sheet_columns(
    table: SheetTable,
    file: str,
    known: Sequence[str],
    required: Sequence[str],
    also: Mapping[str, str],
    shape: str,
    spread: tuple[str, str] | None,
    tally: Tally,
    error: type[SheetError],
) -> SheetColumns:
    """The columns that the headings of a table name.

    Raises
    ------
    error : a required column is missing, stands twice, or a heading is a near miss of a known one.
    """

    def fail(reason: str, column: str = "") -> SheetError:
        return error(reason, file=file, line=table.header_line, column=column)

    if not any(re.search(r"[^\W\d_]", cell) for cell in table.header):
        raise fail(f"no header; the first line names the columns, {shape}")
    found = SheetColumns({}, {}, {}, [])
    others: list[tuple[int, str]] = []
    for index, heading in enumerate(table.header):
        name, unit = column_of(heading, known, also)
        if not name:
            others.append((index, heading))
            continue
        if name in found.place:
            raise fail(f"two columns {name}; keep one", name)
        found.place[name] = index
        if unit:
            found.units[name] = unit
    if spread and not set(spread) & set(found.place):
        labels = {i: label_of(heading, *spread, also) for i, heading in others}
        found.spread.update({i: label for i, label in labels.items() if label})
    for index, heading in others:
        word = word_of(heading)
        if word in REMARKS:
            found.remarks.append(index)
        if not word or word in REMARKS or index in found.spread:
            continue
        if hint := did_you_mean(word, [*known]) or did_you_mean(word, [*also]):
            raise fail(f"column {clean(heading)!r} is not known{hint}", heading)
        tally.warn(
            English(
                "column {column!r} is not used; known are {known}",
                column=clean(heading, 40),
                known=", ".join(known),
            ),
            table.header_line,
        )
    for name in required:
        if name not in found.place and not (found.spread and spread and name == spread[0]):
            raise fail(f"no column {name}; the first line names the columns, {shape}", name)
    return found
