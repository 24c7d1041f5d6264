"""What beds are laid out from, and what comes of it.

Positions are longitude and latitude in degrees, lengths metres, instants seconds since 1970 UTC.
Inside the room a bed is a whole number, its place in the row of beds across its block.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ..core.beds import BedAssignment, BlockBed
from ..core.measured import Measured

if TYPE_CHECKING:
    from shapely import Polygon

Array = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PassObservation:
    """What was seen of one pass: its positions across the block, the bed's name, the length sown.

    ``time_s`` and ``across_m`` have shape (n,), means over parts of the pass in order of time.
    ``name`` is what the turn sheet calls the bed, "" where it says nothing; ``length`` the ground
    sown (m), None where unknown; all lengths of a day share the relative error ``length_scale_u``.
    """

    time_s: Array
    across_m: Array
    name: str = ""
    length: Measured | None = None
    length_scale_u: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockPrior:
    """What is known of a block before a day; mappings are by bed.

    ``spacing`` (m) from bed to bed is None before the first day where nobody has said it.
    ``last_sown_s`` holds the beds known, ``at_edge`` counts earlier days that ended at the lowest
    and the highest of them. ``mapped_across_m`` are positions across the block on the grower's own
    map, ``names`` the beds' names, ``lengths`` what was sown of each bed on other days (m).
    ``scatter_m2`` is the variance of the length of one bed from day to day, ``scatter_freedom`` the
    degrees of freedom behind it, ``origin_m`` where the row of beds begins across the block.
    ``own_beds`` are those that the seeder of the day has sown before, None where no other has been
    on the block; ``at_edge`` then counts its own days.
    """

    spacing: Measured | None = None
    last_sown_s: Mapping[int, float] = field(default_factory=dict)
    at_edge: tuple[int, int] = (0, 0)
    names: Mapping[str, int] = field(default_factory=dict)
    mapped_across_m: Mapping[int, float] = field(default_factory=dict)
    lengths: Mapping[int, Measured] = field(default_factory=dict)
    scatter_m2: float = 0.0
    scatter_freedom: float = 0.0
    origin_m: float = 0.0
    own_beds: frozenset[int] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AssignmentHypothesis:
    """One assignment of a day's passes to beds, with the day's offset and the spacing (m).

    ``marginals`` holds for each pass the probability of each bed under this hypothesis; ``weight``
    is the probability of the hypothesis among those of its day.
    """

    beds: tuple[int, ...]
    marginals: tuple[Mapping[int, float], ...]
    offset: Measured
    spacing: Measured
    weight: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DayPosterior:
    """The likeliest assignment of a day with the marginals over all, and those that differ in much.

    ``log_marginal_likelihood`` says how well the prior of the block explains the day, up to a
    constant of the day.
    """

    best: AssignmentHypothesis
    hypotheses: tuple[AssignmentHypothesis, ...]
    log_marginal_likelihood: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """The ground sown on one pass, on its bed.

    ``run`` is the run's key, ``sure`` the posterior probability of the bed, ``outline`` a rectangle
    in degrees. ``area_m2`` is the length sown, as turns tell it, times the width.
    """

    run: str
    number: int
    block: str
    bed: str
    sure: float
    outline: Polygon
    length_m: float
    width_m: float
    area_m2: float
    rows: int
    crop: str
    setting: str
    start_s: float

    @property
    def row_length_m(self) -> float:
        """Length sown, all row units together."""
        return self.length_m * self.rows


class AnomalyKind(StrEnum):
    """What is odd about a sowing."""

    SOWN_TWICE = "sown twice"
    SKIPPED = "skipped"
    SHORT = "short"
    UNSURE = "unsure"


@dataclass(frozen=True, slots=True, kw_only=True)
class PassReference:
    """One pass of a run: the run's key, the day, the pass's number."""

    run: str
    day: str
    number: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Anomaly:
    """Something to look at in a season.

    ``passes`` are those of the run that it is about, none for a bed left out. ``sure`` is the
    posterior probability of the bed. ``earlier`` is the other pass on a bed sown twice, ``share``
    the length of a short sowing over the bed's usual length.
    """

    kind: AnomalyKind
    block: str
    bed: str
    run: str
    day: str
    passes: tuple[int, ...]
    sure: float
    earlier: PassReference | None = None
    share: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """What lies where, and the anomalies. ``assignments`` by run."""

    beds: tuple[BlockBed, ...]
    strips: tuple[Strip, ...]
    anomalies: tuple[Anomaly, ...]
    assignments: dict[str, tuple[BedAssignment, ...]] = field(default_factory=dict)
