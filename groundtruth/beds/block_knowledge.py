"""What the days teach about a block, kept apart from where it lies."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

from ..core.beds import Fit, SownPass
from ..core.measured import Measured
from .length_likelihood import LengthHistory


@dataclass(slots=True, kw_only=True)
class Learned:
    """Beds by their place in the row: when each was last sown, its name, its length, and where
    the row of beds lies across the block (m)."""

    spacing: Measured | None = None
    last_sown_s: dict[int, float] = field(default_factory=dict)
    at_edge: list[int] = field(default_factory=lambda: [0, 0])
    names: dict[str, int] = field(default_factory=dict)
    lengths: LengthHistory = field(default_factory=LengthHistory)
    offsets: list[float] = field(default_factory=list)

    @property
    def origin_m(self) -> float:
        """Where the row of beds begins across the block: the mean over the days."""
        return float(np.mean(self.offsets)) if self.offsets else 0.0

    def learn(self, passes: Sequence[SownPass], fit: Fit) -> None:
        """Take a day in."""
        self.offsets.append(fit.offset.value)
        self.spacing = Measured(fit.spacing.value, max(fit.spacing.std, 0.002))
        for sown, bed in zip(passes, fit.beds, strict=True):
            self.last_sown_s[bed] = max(self.last_sown_s.get(bed, -np.inf), sown.start_s)
            if sown.bed_name and bed not in self.names.values():
                self.names.setdefault(sown.bed_name, bed)
        self.lengths.learn(fit.beds, [p.length for p in passes])
        self.at_edge[0] += min(fit.beds) == min(self.last_sown_s)
        self.at_edge[1] += max(fit.beds) == max(self.last_sown_s)

    def learn_all(self, days: Iterable[tuple[Sequence[SownPass], Fit]]) -> Learned:
        """Take many days in; returns itself."""
        for passes, fit in days:
            self.learn(passes, fit)
        return self
