"""Mornings of a simulated day, to put mistakes into."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from groundtruth.core.run import Run
from groundtruth.core.turns import TurnCount, TurnReadings, TurnSheet
from groundtruth.simulation import SimulatedDay

from .mistake_tracks import HURT, simulated

Cells = frozenset[tuple[int, str]]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Morning:
    """A day with its mistakes. ``touched`` are the (pass, unit) typed wrong, ``cells`` those of
    them that can be told from the others and are to be named; ``hurt`` says that the recording
    itself is at fault, so that the ground of a pass may be wrong.

    ``counts`` may lack instants; numbers of passes are the sheet's.
    """

    day: SimulatedDay
    counts: tuple[TurnCount, ...]
    readings: tuple[TurnReadings, ...] = ()
    cells: Cells = frozenset()
    touched: Cells = frozenset()
    hurt: bool = False

    @property
    def truth_m(self) -> float:
        """Ground per turn to come, over the units that do not lag."""
        units = self.day.units[:-1] if self.day.scenario.wheels.lagging[1] else self.day.units
        return len(units) / sum(1 / unit.expected_ground_per_turn_m for unit in units)

    def run(self) -> Run:
        """What is handed over to be measured."""
        counts = tuple(replace(c, line=k) for k, c in enumerate(self.counts, start=2))
        sheet = TurnSheet(name="turns.csv", counts=counts, readings=self.readings)
        day = self.day
        return Run(name="morning", track=day.track, turns=sheet, seeder=day.seeder)


Change = Callable[[Morning, np.random.Generator], Morning]


def clean(seed: int, variant: str = "", passes: int = 10, units: int = 4) -> Morning:
    """The morning before anything went wrong."""
    day = simulated(seed, variant, passes, units)
    sheet = day.sheet
    return Morning(day=day, counts=sheet.counts, readings=sheet.readings, hurt=variant in HURT)


def each_count(morning: Morning, change: Callable[[TurnCount], TurnCount]) -> Morning:
    """The morning with every count changed."""
    return replace(morning, counts=tuple(map(change, morning.counts)))


def timed(morning: Morning, change: Callable[[float], float]) -> Morning:
    """The morning with every instant of its sheet changed."""

    def moved(c: TurnCount) -> TurnCount:
        if c.start_s is None or c.end_s is None:
            return c
        return replace(c, start_s=change(c.start_s), end_s=change(c.end_s))

    readings = tuple(
        replace(r, time_s=np.array([change(float(t)) for t in r.time_s])) for r in morning.readings
    )
    return replace(each_count(morning, moved), readings=readings)
