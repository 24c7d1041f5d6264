"""Names in a sheet that are so alike that they may be one."""

from __future__ import annotations

from ...core.language import English
from ...core.notices import Notice, at_line
from ...core.written import spelt_alike
from .rows import Rows


def alike_notices(rows: Rows, *columns: str) -> tuple[Notice, ...]:
    """A question about each two names of a column that differ by capitals or one letter."""
    found = []
    for column in columns:
        first: dict[str, int] = {}
        for row in rows:
            if name := row.text(column):
                first.setdefault(name, row.line)
        for one, other in spelt_alike(first):
            text = English(
                "{column} {one!r} and {other!r}: are they one? Then spell them alike",
                column=column,
                one=one,
                other=other,
            )
            where = at_line(rows.file.name, max(first[one], first[other]))
            found.append(Notice(kind="warning", text=text, where=where))
    return tuple(found)
