"""What is compared: runs with their figures and what is known about the day."""

from __future__ import annotations

from dataclasses import dataclass

from ...core.measured import Measured


@dataclass(frozen=True, slots=True, kw_only=True)
class RunFigure:
    """One run: its pooled ground per gear turn (m) and what it was measured under.

    ``phase`` counts the recorded changes of the seeder before it.
    """

    name: str
    day: str
    ground_per_turn: Measured
    passes: int
    slip: Measured | None = None
    soil: str = ""
    seeder: str = ""
    phase: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitRun:
    """One row unit on one run: its turns over those of its neighbours (1: alike)."""

    day: str
    unit: str
    turns_against_others: Measured
    passes: int
    lags: bool
