"""What the alignment of a day is given and what it answers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ..core.measured import Measured

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

END_M = 1.0
"""How well a driver meets the end of a bed, until a block's own days tell: standard deviation of
the length sown. Our choice."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Trace:
    """Where one pass lay across its block: means over parts of the pass, in order of time.

    ``time_s`` and ``across_m`` have shape (n,). ``name`` is what the turn sheet calls the bed,
    ``length`` the ground sown (m), None where unknown; all lengths of a day share the relative
    error ``length_scale_u``.
    """

    time_s: Array
    across_m: Array
    name: str = ""
    length: Measured | None = None
    length_scale_u: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """What is known of a block before a day: beds by their place in the row of beds.

    ``spacing`` is None before the first day and where nobody has said it. ``last_sown_s`` holds
    the beds known. ``at_edge`` counts earlier days that ended at the lowest and the highest known
    bed. ``places_m`` are places of the grower's own map, by bed; ``names`` those known;
    ``lengths`` what was sown of each bed on other days (m). ``scatter_m2`` is how much the length
    of a bed differed from day to day and ``scatter_freedom`` how many values that rests on.
    """

    spacing: Measured | None = None
    last_sown_s: Mapping[int, float] = field(default_factory=dict)
    at_edge: tuple[int, int] = (0, 0)
    names: Mapping[str, int] = field(default_factory=dict)
    places_m: Mapping[int, float] = field(default_factory=dict)
    lengths: Mapping[int, Measured] = field(default_factory=dict)
    scatter_m2: float = 0.0
    scatter_freedom: float = 0.0
    origin_m: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One way to read a day: the bed of each pass, with the day's offset and the spacing (m).

    ``chances`` holds for each pass how likely which bed is under this reading; ``weight`` is how
    likely the reading is among those of its day.
    """

    beds: tuple[int, ...]
    chances: tuple[Mapping[int, float], ...]
    offset: Measured
    spacing: Measured
    weight: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Alignment:
    """The likeliest reading with the chances of all of them, and readings that differ in much.

    ``evidence`` is the log of how well the pattern explains the day, up to a constant of the day.
    """

    best: Reading
    readings: tuple[Reading, ...]
    evidence: float

    @property
    def beds(self) -> tuple[int, ...]:
        """The bed of each pass."""
        return self.best.beds

    @property
    def sure(self) -> tuple[float, ...]:
        """How sure the bed of each pass is, 0 to 1."""
        return tuple(c.get(j, 0.0) for j, c in zip(self.best.beds, self.best.chances, strict=True))
