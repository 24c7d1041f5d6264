"""How a block's days may be read together: a few tellings, weighed by all days.

The first day of a block that is on no map decides which beds there are. Where it can be read in
several ways (a bed left out in the middle?), each is followed through the later days, and what
explains them best wins. So a doubtful first day is not taken for certain by those laid on it, and a
later day, above all one with names, settles an earlier one.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import exp, log
from statistics import median

from ..core.beds import Fit, SownPass
from .block_knowledge import Learned
from .blocks import RECEIVER_M, Block
from .pattern import Reading
from .tracker import align

LEAST_WEIGHT = 1e-4
"""Tellings less likely than this are given up. Our choice."""

SETTLE_AFTER = 6
"""After so many days on a block its likeliest telling is kept, with the doubt that is left then.
Our choice: what six days leave open, more days like them leave open too."""

Chances = tuple[Mapping[int, float], ...]


@dataclass(slots=True)
class _Telling:
    """One reading of all days so far: what it teaches, the beds of each day, and its weight."""

    learned: Learned
    log_weight: float = 0.0
    days: list[tuple[Fit, Chances]] = field(default_factory=list)

    def take_in(self, passes: Sequence[SownPass], fit: Fit, chances: Chances) -> None:
        self.learned.learn(passes, fit)
        self.days.append((fit, chances))


class Tellings:
    """The tellings of one block."""

    def __init__(self, block: Block) -> None:
        self.block = block
        self.all = [_Telling(block.from_map())]

    def keep(self, passes: Sequence[SownPass], fit: Fit) -> None:
        """Take in a day that was settled before."""
        chances = tuple({j: s} for j, s in zip(fit.beds, fit.sure, strict=True))
        for telling in self.all:
            telling.take_in(passes, fit, chances)

    def read(self, passes: Sequence[SownPass]) -> None:
        """Lay a day on the block in all tellings."""
        first = not self.all[0].days and not self.block.mapped
        found = []
        for telling in self.all:
            day = align(
                [self.block.trace(p) for p in passes],
                self.block.pattern(telling.learned, _said_spacing_m(passes)),
                receiver=median(p.scatter_m for p in passes) < RECEIVER_M,
            )
            readings = day.readings if first else (day.best,)
            for reading in readings:
                after = _Telling(
                    learned=copy.deepcopy(telling.learned),
                    log_weight=telling.log_weight + day.evidence + log(reading.weight),
                    days=list(telling.days),
                )
                after.take_in(passes, _fit(self.block.number, passes, reading), reading.chances)
                found.append(after)
        found.sort(key=lambda t: -t.log_weight)
        best = found[0].log_weight
        self.all = [t for t in found if t.log_weight > best + log(LEAST_WEIGHT)]
        for telling in self.all:
            telling.log_weight -= best
        if len(self.all[0].days) >= SETTLE_AFTER:
            self.all[0].days = self._together()
            del self.all[1:]

    def settle(self) -> list[Fit]:
        """The days by the likeliest telling, with the doubt that the others leave; the block then
        knows what that one teaches."""
        self.block.learned = self.all[0].learned
        return [replace(fit, settled=len(self.all) == 1) for fit, _ in self._together()]

    def _together(self) -> list[tuple[Fit, Chances]]:
        """The days of the likeliest telling, each pass as sure as all tellings make it."""
        total = sum(exp(t.log_weight) for t in self.all)
        weights = [exp(t.log_weight) / total for t in self.all]
        found: list[tuple[Fit, Chances]] = []
        for day, (fit, _) in enumerate(self.all[0].days):
            chances = tuple(
                _mixed([t.days[day][1][k] for t in self.all], weights) for k in range(len(fit.beds))
            )
            sure = tuple(
                min(1.0, c.get(bed, 0.0)) for bed, c in zip(fit.beds, chances, strict=True)
            )
            found.append((replace(fit, sure=sure), chances))
        return found


def _mixed(chances: Sequence[Mapping[int, float]], weights: Sequence[float]) -> dict[int, float]:
    mixed: dict[int, float] = {}
    for chance, weight in zip(chances, weights, strict=True):
        for bed, share in chance.items():
            mixed[bed] = mixed.get(bed, 0.0) + weight * share
    return mixed


def _said_spacing_m(passes: Sequence[SownPass]) -> float | None:
    return next((p.bed_spacing_m for p in passes if p.bed_spacing_m), None)


def _fit(block: int, passes: Sequence[SownPass], reading: Reading) -> Fit:
    return Fit(
        block=block,
        passes=tuple(p.number for p in passes),
        beds=reading.beds,
        sure=tuple(c.get(j, 0.0) for j, c in zip(reading.beds, reading.chances, strict=True)),
        offset=reading.offset,
        spacing=reading.spacing,
    )
