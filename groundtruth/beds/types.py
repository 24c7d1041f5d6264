"""What goes into the laying out of beds, and what comes out. Degrees, metres, s since 1970 UTC."""

from __future__ import annotations

from dataclasses import dataclass, field

from ..core.beds import Fit, LonLat


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """The ground sown on one pass, on its bed. ``outline`` is a closed ring of corners."""

    run: str
    number: int
    block: str
    bed: str
    sure: float
    outline: tuple[LonLat, ...]
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Bed:
    """A bed of a block: ``place`` counts from 1 across the block; strips lie on it."""

    name: str
    block: str
    place: int
    outline: tuple[LonLat, ...]
    mapped: bool
    sowings: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Oddity:
    """Something to look at: ``kind`` is "sown twice", "skipped", "short" or "unsure"."""

    kind: str
    block: str
    bed: str
    run: str
    number: int
    when_s: float
    text: str
    sure: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """Everything that lies where, and what is odd about it. ``fits`` by run."""

    beds: tuple[Bed, ...]
    strips: tuple[Strip, ...]
    oddities: tuple[Oddity, ...]
    fits: dict[str, tuple[Fit, ...]] = field(default_factory=dict)
