"""Tell a run's description, a sheet of turns and a track apart by name and head of a file."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Literal

from ...core.errors import InputError
from ...io.decoding import decode
from ...io.files import Source

_SHEETS = (".csv", ".tsv", ".txt")
_TURNS = re.compile(r"\b(turns?|count|turn_count)\b", re.I)
_HEAD = 4096


def kind_of(source: Source) -> Literal["track", "sheet", "run"]:
    """Whether a file describes a run, holds turn counts or, as far as its head tells, a track.

    Raises
    ------
    InputError : it is empty, or a page.
    """
    if not source.data:
        raise InputError("the file is empty; copy it from the phone again", file=source.name)
    suffix = Path(source.name).suffix.lower()
    if suffix == ".toml":
        return "run"
    if suffix in (".json", ".html") and not source.data.lstrip()[:1] == b"{":
        raise InputError("is no track and no sheet of turns", file=source.name)
    if suffix in _SHEETS:
        text, _ = decode(source.data[:_HEAD])
        lines = (line for line in text.splitlines() if line.strip() and not line.startswith("#"))
        head = next((line for line in lines if not line.startswith("sep=")), "")
        if _TURNS.search(head):
            return "sheet"
    return "track"
