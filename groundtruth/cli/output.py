"""How commands show what came back: tables and sentences, or a JSON document."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from ..core.safe_text import visible

if TYPE_CHECKING:
    from rich.console import Console

    from ..core.notices import Notice
    from ..views.blocks import Sentences, Table


NARROWEST, WIDEST = 20, 400
"""Columns that a terminal is taken to have, whatever it or COLUMNS says."""


def tell(text: object, limit: int | None = None, *, aside: bool = False) -> None:
    """Print a line with whatever drives a terminal shown by its code; ``aside`` to the errors."""
    print(visible(str(text), limit), file=sys.stderr if aside else sys.stdout)


def terminal() -> Console:
    """Where tables and sentences go."""
    from rich.console import Console

    class Terminal(Console):
        def on_broken_pipe(self) -> None:
            """Leave it to `main` to end the program: rich would do so with another exit code."""
            raise BrokenPipeError

    console = Terminal()
    console.width = min(max(console.width, NARROWEST), WIDEST)
    return console


def show(blocks: Iterable[Table | Sentences], *, paged: bool = False) -> None:
    """Print tables and sentences; what is ``paged`` and longer than the terminal, by the page.

    Nothing is paged where nobody sits before it. The pager is that of the system, or PAGER.
    """
    from ..views.terminal import print_blocks

    console, blocks = terminal(), tuple(blocks)
    if paged and console.is_terminal and sys.stdin.isatty():
        with console.capture() as shown:
            print_blocks(blocks, console)
        if shown.get().count("\n") >= console.height:
            with console.pager():
                print_blocks(blocks, console)
            return
    print_blocks(blocks, console)


def show_json(kind: str, body: dict[str, Any]) -> None:
    """Print a JSON document; ``kind`` names the command."""
    from ..views.json.envelope import json_document

    print(json_document(kind, body))


def notice_block(notices: Iterable[Notice]) -> list[Sentences]:
    """Warnings and repairs as a block, none where there are none."""
    from ..core.language import say
    from ..views.blocks import Sentences
    from ..views.sentences.measurement import notice_sentences

    lines = notice_sentences(notices)
    return [Sentences(title=say("Look at this"), sentences=lines, warning=True)] if lines else []
