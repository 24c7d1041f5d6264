"""What became of something handed to the record."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Outcome = Literal["added", "already there", "replaced", "put right"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Added:
    """What became of something handed to the record; ``says`` is what was found on the way."""

    what: str
    outcome: Outcome
    text: str
    says: tuple[str, ...] = ()
