"""What became of something handed to the record."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True, kw_only=True)
class Added:
    """What became of something handed to the record."""

    what: str
    outcome: Literal["added", "already there", "replaced"]
    text: str
