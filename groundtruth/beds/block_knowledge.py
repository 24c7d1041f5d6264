"""What the days say of a block, kept apart from where it lies."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from ..core.beds import BedAssignment, SownPass
from ..core.measured import Measured
from .length_likelihood import LengthHistory


@dataclass(slots=True, kw_only=True)
class SeederKnowledge:
    """The beds of a block that one seeder sowed, and how many of its days ended at the lowest and
    the highest bed that there was."""

    beds: set[int] = field(default_factory=set)
    at_edge: list[int] = field(default_factory=lambda: [0, 0])


@dataclass(slots=True, kw_only=True)
class BlockKnowledge:
    """Beds by their place in the row: when each was last sown, its name, its length; the spacing
    from bed to bed and each day's offset across the block (m). ``by_seeder`` holds what each named
    seeder, and all that are not named, sowed."""

    spacing: Measured | None = None
    last_sown_s: dict[int, float] = field(default_factory=dict)
    by_seeder: dict[str, SeederKnowledge] = field(default_factory=dict)
    names: dict[str, int] = field(default_factory=dict)
    lengths: LengthHistory = field(default_factory=LengthHistory)
    offsets_m: list[float] = field(default_factory=list)

    @property
    def origin_m(self) -> float:
        """Where the row of beds begins across the block: the mean over the days."""
        return float(np.mean(self.offsets_m)) if self.offsets_m else 0.0

    def update(self, passes: Sequence[SownPass], day: BedAssignment) -> None:
        """Take in a day's passes as they were assigned (in place)."""
        self.offsets_m.append(day.offset.value)
        self.spacing = Measured(day.spacing.value, max(day.spacing.std, 0.002))
        for sown, bed in zip(passes, day.beds, strict=True):
            self.last_sown_s[bed] = max(self.last_sown_s.get(bed, -np.inf), sown.start_s)
            if sown.bed_name and bed not in self.names.values():
                self.names.setdefault(sown.bed_name, bed)
        self.lengths.update(day.beds, [p.length for p in passes])
        mine = self.by_seeder.setdefault(passes[0].seeder, SeederKnowledge())
        mine.beds.update(day.beds)
        mine.at_edge[0] += min(day.beds) == min(self.last_sown_s)
        mine.at_edge[1] += max(day.beds) == max(self.last_sown_s)

    def of(self, seeder: str) -> tuple[frozenset[int] | None, tuple[int, int]]:
        """The beds that a seeder sowed before and how many of its days ended at either edge.

        As long as no two seeders are named, the beds are None and the days those of all.
        """
        if len({*self.by_seeder, seeder} - {""}) < 2:
            every = [one.at_edge for one in self.by_seeder.values()]
            return None, (sum(low for low, _ in every), sum(high for _, high in every))
        mine = self.by_seeder.get(seeder, SeederKnowledge())
        return frozenset(mine.beds), (mine.at_edge[0], mine.at_edge[1])
