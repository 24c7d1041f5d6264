"""Hypotheses about all days of a block together, weighed by what each day says.

The first day of a block that is on no map decides which beds there are. Where it can be assigned in
several ways (a bed left out in the middle?), each hypothesis is followed through the later days,
and what explains them best wins. So a doubtful first day is not taken for certain by those laid on
it, and a later day, above all one with names, settles an earlier one.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import exp, log
from statistics import median

from ..core.beds import BedAssignment, SownPass
from .block_knowledge import BlockKnowledge
from .blocks import RECEIVER_M, Block, bed_spacing_said_m
from .tracker import assign_day
from .types import AssignmentHypothesis

LEAST_WEIGHT = 1e-4
"""Hypotheses less likely than this against the best are given up. Our choice."""

SETTLE_AFTER = 6
"""After so many days on a block its likeliest hypothesis is kept, with the doubt that is left then.
Our choice: what six days leave open, more days like them leave open too."""

Marginals = tuple[Mapping[int, float], ...]
"""For each pass of a day the probability of each bed."""


@dataclass(slots=True)
class _Hypothesis:
    """One assignment of all days so far, what it says of the block, and its log posterior weight
    up to a constant."""

    knowledge: BlockKnowledge
    log_weight: float = 0.0
    days: list[tuple[BedAssignment, Marginals]] = field(default_factory=list)

    def add(self, passes: Sequence[SownPass], day: BedAssignment, marginals: Marginals) -> None:
        self.knowledge.update(passes, day)
        self.days.append((day, marginals))


class BlockHypotheses:
    """The hypotheses about one block, the likeliest first."""

    def __init__(self, block: Block) -> None:
        self.block = block
        self.all = [_Hypothesis(block.from_map())]

    def add_settled(self, passes: Sequence[SownPass], day: BedAssignment) -> None:
        """Add a day that was settled before to every hypothesis."""
        marginals = tuple({j: s} for j, s in zip(day.beds, day.sure, strict=True))
        for hypothesis in self.all:
            hypothesis.add(passes, day, marginals)

    def add_day(self, passes: Sequence[SownPass]) -> None:
        """Assign a day's passes under every hypothesis; unlikely hypotheses are given up."""
        first = not self.all[0].days and not self.block.mapped
        found = []
        for before in self.all:
            posterior = assign_day(
                [self.block.observation(p) for p in passes],
                self.block.prior(before.knowledge, bed_spacing_said_m(passes), passes[0].seeder),
                receiver=median(p.scatter_m for p in passes) < RECEIVER_M,
            )
            for assigned in posterior.hypotheses if first else (posterior.best,):
                after = _Hypothesis(
                    knowledge=copy.deepcopy(before.knowledge),
                    log_weight=before.log_weight
                    + posterior.log_marginal_likelihood
                    + log(assigned.weight),
                    days=list(before.days),
                )
                after.add(passes, _kept(self.block.number, passes, assigned), assigned.marginals)
                found.append(after)
        found.sort(key=lambda h: -h.log_weight)
        best = found[0].log_weight
        self.all = [h for h in found if h.log_weight > best + log(LEAST_WEIGHT)]
        for hypothesis in self.all:
            hypothesis.log_weight -= best
        if len(self.all[0].days) >= SETTLE_AFTER:
            self.all[0].days = self._averaged()
            del self.all[1:]

    def settle(self) -> list[BedAssignment]:
        """The days by the likeliest hypothesis, with the doubt that the others leave.

        The block then knows what that hypothesis says of it.
        """
        self.block.knowledge = self.all[0].knowledge
        return [replace(day, settled=len(self.all) == 1) for day, _ in self._averaged()]

    def _averaged(self) -> list[tuple[BedAssignment, Marginals]]:
        """The days of the likeliest hypothesis, their marginals averaged over all hypotheses."""
        total = sum(exp(h.log_weight) for h in self.all)
        weights = [exp(h.log_weight) / total for h in self.all]
        found: list[tuple[BedAssignment, Marginals]] = []
        for number, (day, _) in enumerate(self.all[0].days):
            marginals = tuple(
                _mean([h.days[number][1][k] for h in self.all], weights)
                for k in range(len(day.beds))
            )
            sure = tuple(
                min(1.0, m.get(bed, 0.0)) for bed, m in zip(day.beds, marginals, strict=True)
            )
            found.append((replace(day, sure=sure), marginals))
        return found


def _mean(marginals: Sequence[Mapping[int, float]], weights: Sequence[float]) -> dict[int, float]:
    mean: dict[int, float] = {}
    for marginal, weight in zip(marginals, weights, strict=True):
        for bed, probability in marginal.items():
            mean[bed] = mean.get(bed, 0.0) + weight * probability
    return mean


def _kept(block: int, passes: Sequence[SownPass], day: AssignmentHypothesis) -> BedAssignment:
    return BedAssignment(
        block=block,
        passes=tuple(p.number for p in passes),
        beds=day.beds,
        sure=tuple(m.get(j, 0.0) for j, m in zip(day.beds, day.marginals, strict=True)),
        offset=day.offset,
        spacing=day.spacing,
    )
