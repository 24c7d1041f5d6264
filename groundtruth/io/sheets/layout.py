"""The table inside a sheet: its header below title lines, no total row, one count in each row."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from ...core.written import number
from .headings import is_total

LOOKED_AT = 10
"""Lines at the top among which the header is looked for."""
Cells = list[str]


def header_place(rows: Sequence[Cells], known: Callable[[Cells], int]) -> int:
    """Where the header is: of the first lines the one with most known headings, else the first."""
    return max(range(min(len(rows), LOOKED_AT)), key=lambda i: (known(rows[i]), -i), default=0)


def without_total(
    rows: Sequence[tuple[int, Cells]], numbers: Sequence[int], key: int | None
) -> tuple[list[tuple[int, Cells]], list[int]]:
    """The rows that are no sum of the others, and the lines of those that are.

    A sum says so in a cell; or it is the last row, has nothing in the column ``key``, and its
    ``numbers`` are the sums of those above.
    """
    kept: list[tuple[int, Cells]] = []
    left_out: list[int] = []
    for place, (line, cells) in enumerate(rows):
        said = any(is_total(cell) for cell in cells)
        last = place == len(rows) - 1 and place > 1 and key is not None and not cells[key]
        if said or (last and _is_sum([c for _, c in kept], cells, numbers)):
            left_out.append(line)
        else:
            kept.append((line, cells))
    return kept, left_out


def _is_sum(above: Sequence[Cells], cells: Cells, numbers: Sequence[int]) -> bool:
    filled = [i for i in numbers if cells[i]]
    try:
        return bool(filled) and all(
            abs(sum(number(row[i]) for row in above if row[i]) - number(cells[i])) < 1e-6
            for i in filled
        )
    except ValueError:
        return False


def one_count_a_row(
    rows: Sequence[tuple[int, Mapping[str, str], Cells]],
    columns: Mapping[int, str],
    values: str,
    labels: str,
) -> list[tuple[int, dict[str, str]]]:
    """A row for each filled cell of the ``columns`` (label by place), with its label and value."""
    return [
        (line, {**named, labels: label, values: cells[place]})
        for line, named, cells in rows
        for place, label in columns.items()
        if cells[place]
    ]
