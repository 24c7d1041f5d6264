"""Tables and sentences in the terminal.

On a terminal the tables are drawn by rich, which heeds NO_COLOR and the width. Written to a file
or a pipe they become plain aligned text, one line for each row and sentence, to read or to grep.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from ..core.language import said
from ..core.result import Result
from ..core.safe_text import encodable
from .blocks import PLUS_MINUS_NOTE, Block, Column, Sentences, Table
from .result_blocks import result_blocks

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table as Drawn
    from rich.text import Text

_GAP = "  "


def print_result(result: Result, console: Console) -> None:
    """Show a result on a rich console; the module says how terminals and pipes differ."""
    print_blocks(result_blocks(result), console)


def print_blocks(shown: Iterable[Block], console: Console) -> None:
    """Show tables and sentences, a blank line between them."""
    for number, block in enumerate(shown):
        if number:
            console.print()
        if not console.is_terminal:
            for line in plain_lines(block):
                _print_line(line, console)
        elif isinstance(block, Table):
            _print_table(block, console)
        else:
            _print_sentences(block, console)


def plain_lines(block: Block) -> Iterator[str]:
    """A block as lines of plain text, without trailing blanks."""
    yield block.title
    if isinstance(block, Sentences):
        yield from (f"{_GAP}{sentence}" for sentence in block.sentences)
        return
    widths = [_width(column) for column in block.columns]
    for cells in (tuple(c.heading for c in block.columns), *block.rows):
        padded = [
            cell.ljust(width) if column.side == "left" else cell.rjust(width)
            for cell, width, column in zip(cells, widths, block.columns, strict=True)
        ]
        yield (_GAP + _GAP.join(padded)).rstrip()
    if block.has_plus_minus:
        yield f"{_GAP}{said(PLUS_MINUS_NOTE)}"


def _width(column: Column) -> int:
    return max(len(text) for text in (column.heading, *column.cells))


def _text(text: str, console: Console, style: str = "") -> Text:
    """Text that rich takes as it is: no markup in it is read."""
    from rich.text import Text

    return Text(encodable(text, console.encoding), style=style)


def _print_line(line: str, console: Console) -> None:
    console.print(_text(line, console), soft_wrap=True, highlight=False)


def _print_sentences(block: Sentences, console: Console) -> None:
    from rich.padding import Padding

    console.print(_text(block.title, console, "bold yellow" if block.warning else "bold"))
    for index, sentence in enumerate(block.sentences):
        style = "bold green" if index < block.strong else ""
        console.print(Padding(_text(sentence, console, style), (0, 0, 0, 2)), highlight=False)


def _print_table(table: Table, console: Console) -> None:
    from rich.padding import Padding

    room = console.width - len(_GAP)
    drawn = _drawn(table, console)
    if console.measure(drawn).maximum > room:
        drawn = _drawn(table, console, tight=True)
    if console.measure(drawn).minimum > room:
        for line in plain_lines(table):  # cut off, the last columns would be lost
            _print_line(line, console)
        return
    console.print(_text(table.title, console, "bold"))
    console.print(Padding(drawn, (0, 0, 0, len(_GAP))))
    if table.has_plus_minus:
        console.print(Padding(_text(said(PLUS_MINUS_NOTE), console, "dim"), (0, 0, 0, len(_GAP))))


def _drawn(table: Table, console: Console, *, tight: bool = False) -> Drawn:
    """The table as rich draws it; ``tight`` makes columns of numbers as narrow as their cells and
    the words of their headings allow, since rich itself would narrow them further and cut them."""
    from rich import box
    from rich.table import Table as Drawn

    drawn = Drawn(box=box.SIMPLE_HEAD, show_edge=False, padding=(0, 1, 0, 0), pad_edge=False)
    for column in table.columns:
        numbers = column.side == "right"
        words = column.heading.split() if numbers else [column.heading]
        least = max(map(len, (*words, *column.cells)), default=0)
        drawn.add_column(
            _text(column.heading, console),
            justify=column.side,
            vertical="bottom",
            width=least if tight else None,
            no_wrap=not numbers,
            overflow="fold" if numbers else "ellipsis",
        )
    for index, row in enumerate(table.rows):
        style = "bold yellow" if index in table.marked else None
        drawn.add_row(*(_text(cell, console) for cell in row), style=style)
    return drawn
