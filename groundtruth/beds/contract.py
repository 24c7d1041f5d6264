"""What goes into the laying out of beds, and what comes out. Degrees, metres, s since 1970 UTC."""

from __future__ import annotations

from dataclasses import dataclass, field

from ..measured import Measured

LonLat = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class SownPass:
    """One pass of one run, as it was recorded.

    ``axis`` are start and end of the antenna's way, ``places`` (time, longitude, latitude) means
    over parts of the pass. ``width_m`` is what the seeder sows across, ``length`` the ground sown,
    whose relative error ``length_scale_u`` all passes of the run share.
    The antenna stands ``ahead_m`` in front of the row units and ``right_m`` to the right of the
    middle of the toolbar, seen in the direction of travel. ``day`` is the local day, where known.
    """

    run: str
    number: int
    start_s: float
    end_s: float
    axis: tuple[LonLat, LonLat]
    places: tuple[tuple[float, float, float], ...]
    bed_name: str = ""
    crop: str = ""
    setting: str = ""
    length: Measured | None = None
    length_scale_u: float = 0.0
    width_m: float | None = None
    rows: int = 1
    ahead_m: float = 0.0
    right_m: float = 0.0
    bed_spacing_m: float | None = None
    scatter_m: float = 1.0
    day: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class MapBed:
    """A bed of the grower's own map: its name, block, and two ends of its middle line."""

    name: str
    block: str
    ends: tuple[LonLat, LonLat]
    width_m: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """How the passes of one run in one block were laid onto it: what a record keeps of it.

    ``block`` counts the blocks from 0 in the order in which they were found, ``beds`` and ``sure``
    follow the passes in order of time. ``settled`` says that no other reading of the block's days
    is left, so that later days will not move it.
    """

    block: int
    passes: tuple[int, ...]
    beds: tuple[int, ...]
    sure: tuple[float, ...]
    offset: Measured
    spacing: Measured
    settled: bool = False


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
