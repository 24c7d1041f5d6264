"""What is compared: runs and row units with their figures and what is known of the day."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from ...core.measured import Measured


@dataclass(frozen=True, slots=True, kw_only=True)
class RunFigure:
    """One run: its pooled ground per gear turn (m) and what it was measured under.

    ``phase`` counts the recorded changes of the seeder before it, ``recorded`` holds all columns of
    the run in a season's record.
    """

    name: str
    day: str
    ground_per_turn: Measured
    passes: int
    slip: Measured | None = None
    soil: str = ""
    seeder: str = ""
    phase: int = 0
    recorded: Mapping[str, Any] = field(default_factory=dict, repr=False, compare=False)


class Covariate(StrEnum):
    """What else may move a run's ground per turn, and is taken out of a comparison."""

    SOIL = "soil"
    PHASE = "changes of the seeder"

    def of(self, run: RunFigure) -> str:
        """The covariate's value on a run."""
        return run.soil if self is Covariate.SOIL else str(run.phase)


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitRun:
    """One row unit on one run: its turns over those of its neighbours (1: alike)."""

    day: str
    unit: str
    turns_against_others: Measured
    passes: int
    lags: bool
