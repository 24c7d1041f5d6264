"""How commands show what came back: tables and sentences, or a JSON document."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from ..core.notices import Notice
    from ..views.blocks import Sentences, Table


def show(blocks: Iterable[Table | Sentences]) -> None:
    """Print tables and sentences."""
    from rich.console import Console

    from ..views.terminal import print_blocks

    print_blocks(blocks, Console())


def show_json(kind: str, body: dict[str, Any]) -> None:
    """Print a JSON document; ``kind`` names the command."""
    from ..views.json.envelope import json_document

    print(json_document(kind, body))


def notice_block(notices: Iterable[Notice]) -> list[Sentences]:
    """Warnings and repairs as a block, none where there are none."""
    from ..views.blocks import Sentences
    from ..views.sentences.measurement import notice_sentences

    lines = notice_sentences(notices)
    return [Sentences(title="Look at this", sentences=lines, warning=True)] if lines else []
