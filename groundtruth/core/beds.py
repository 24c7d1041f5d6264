"""Beds and the passes sown on them, as values."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from typing import TYPE_CHECKING

from .bounds import refuse_outside
from .errors import InputError
from .measured import Measured

if TYPE_CHECKING:
    from shapely import Polygon

LonLat = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class SownPass:
    """One pass of one run, as it was recorded.

    ``axis`` are start and end of the antenna's way, ``positions`` (time, longitude, latitude) means
    of the fixes over parts of the pass. ``width_m`` is what the seeder sows across, ``length`` the
    ground sown, whose relative error ``length_scale_u`` all passes of the run share.
    The antenna stands ``ahead_m`` in front of the row units and ``right_m`` to the right of the
    middle of the toolbar, seen in the direction of travel. ``day`` is the local day, ``seeder`` the
    name of the seeder, "" where they are not known.
    """

    run: str
    number: int
    start_s: float
    end_s: float
    axis: tuple[LonLat, LonLat]
    positions: tuple[tuple[float, float, float], ...]
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
    seeder: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class MapBed:
    """A bed of the grower's own map: its name, block, and two ends of its middle line."""

    name: str
    block: str
    ends: tuple[LonLat, LonLat]
    width_m: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockBed:
    """A bed of a block; ``place`` counts from 1 across the block.

    ``outline`` is a rectangle in degrees whose first and last two corners are the bed's ends,
    ``mapped`` says that the grower's own map has it, ``sowings`` how often it was sown.
    """

    name: str
    block: str
    place: int
    outline: Polygon
    mapped: bool
    sowings: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BedAssignment:
    """The beds of the passes of one run in one block, as a record keeps them.

    ``block`` counts the blocks from 0 in the order in which they were found; ``beds`` and ``sure``,
    the posterior probability of each, follow the passes in order of time. ``offset`` (m) is that of
    the day across the block, ``spacing`` (m) from bed to bed. ``settled`` says that no other
    hypothesis about the block's days is left, so that later days will not move it.
    """

    block: int
    passes: tuple[int, ...]
    beds: tuple[int, ...]
    sure: tuple[float, ...]
    offset: Measured
    spacing: Measured
    settled: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Bed:
    """A bed to sow: its length (m) and how many lines are sown along it.

    Raises
    ------
    InputError : a figure is not above 0, or out of its bounds.
    """

    name: str
    length_m: float
    lines: int = 1

    def __post_init__(self) -> None:
        if not (self.length_m > 0 and isfinite(self.length_m)):
            raise InputError(
                f"bed {self.name}: length is {self.length_m:g} m; must be above 0", column="length"
            )
        if self.lines < 1:
            raise InputError(
                f"bed {self.name}: lines is {self.lines}; a bed has 1 or more", column="lines"
            )
        refuse_outside("length", self.length_m, "bed_length")
        refuse_outside("lines", self.lines, "lines")
