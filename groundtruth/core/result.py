"""The result of a measured run: plain values, ready to be shown, stored or compared."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import StrEnum
from importlib import import_module
from typing import TYPE_CHECKING

from .crops import Target
from .findings import Advice, Finding
from .fleet_prior import FleetFigure
from .measured import Measured
from .notices import Notice
from .origin import Origin, Soil
from .recording import DistanceErrors, Recording
from .run import UnitSystem
from .seeder import Seeder
from .track import InputFile
from .uncertainty import UncertaintySource

if TYPE_CHECKING:
    from folium import Map
    from pandas import DataFrame


@dataclass(frozen=True, slots=True, kw_only=True)
class PassFigure:
    """One row unit over one pass. Times in s since 1970 UTC, lengths in m, slip as a share."""

    number: int
    unit: str
    start_s: float
    end_s: float
    start_found: str
    end_found: str
    distance: Measured
    turns: Measured  # gear turns
    ground_per_turn: Measured
    slip: Measured | None
    setting: str = ""
    crop: str = ""
    bed: str = ""


class Judgement(StrEnum):
    """What is held of a count. The values are those of the JSON."""

    AGREES = "agrees"
    DOUBTFUL = "doubtful"
    LEFT_OUT = "left out"


class CellReason(StrEnum):
    """Why a count is doubtful or left out. The values are those of the JSON."""

    COUNT = "unlike the other units of its pass"
    GROUND = "unlike the ground of its pass"
    EXCHANGED = "stands in another unit's place"
    TIMES = "times of its own"


@dataclass(frozen=True, slots=True, kw_only=True)
class CellVerdict:
    """The verdict on one count of the sheet.

    ``turns`` is what was counted, in the sheet's own turns; ``expected`` the least and the most
    that the rest of the run says it should be, ``suggestion`` what was probably meant, None where
    nothing is. ``line`` is that of the sheet.
    """

    number: int
    unit: str
    line: int | None
    turns: float
    verdict: Judgement
    reason: CellReason | None = None
    expected: tuple[float, float] | None = None
    suggestion: float | None = None


class Verdict(StrEnum):
    """What to do with the figure in use. The values are those of the JSON."""

    USE = "use it"  # no figure is in use
    CHANGE = "change it"
    KEEP = "keep it"
    CANNOT_TELL = "cannot tell"


NARROW = 0.05
"""A figure in use is kept where the whole 95 % interval lies within this share of it: what a stand
does not show (common practice, no source)."""
USABLE = 0.10
"""A figure whose interval reaches farther than this is none to set a seeder by. Our choice."""
LEAST_KEPT = 2 / 3
"""Where more counts than the rest were left out, the others may be wrong as well. Our choice."""
MOST_SLIP = 0.4
"""More slip than this, sure to 95 %, no wheel has that still turns (common practice, no source)."""
LEAST_SLIP = -0.01
"""Below this, sure to 95 %, the gear turned more often than a rolling wheel can drive it: the
description of the machine or the count is wrong."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PassLine:
    """A pass as it is drawn, in degrees; ``axis`` holds the fitted line's two ends."""

    number: int
    time_s: tuple[float, ...]
    longitude_deg: tuple[float, ...]
    latitude_deg: tuple[float, ...]
    axis: tuple[tuple[float, float], tuple[float, float]]  # (longitude, latitude) of start, end
    axis_deg: float  # direction of travel, clockwise from north
    speed_m_s: float  # mean while moving


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """Everything that was found out about a run.

    ``ground_per_turn`` is the pooled ground per gear turn (m), its standard uncertainty including
    the spread between passes; ``ground_per_turn_95`` its 95 % interval. ``spread_between_passes``
    is the standard deviation (m) of the true figure from pass to pass, with its own uncertainty.
    ``change`` is ground per turn over the figure in use, minus 1, None where none is in use.
    ``repairs``, ``warnings`` and ``facts`` are what reading the input remarked, ``findings`` what
    measuring did. ``fixes`` are those of the track as (longitude, latitude) in degrees, to draw.
    ``cells`` are the verdicts on the counts. ``recording`` and ``distances`` are None in a result
    that was written before they were kept. ``with_fleet`` is the figure with what a fleet knows
    of machines, None where nothing was known beforehand.
    """

    run_name: str
    date: str  # ISO day of the first pass in the run's time zone
    time_zone: str
    units: UnitSystem
    seeder: Seeder
    ground_per_turn: Measured
    ground_per_turn_95: tuple[float, float]
    slip: Measured | None
    slip_95: tuple[float, float] | None
    change: Measured | None
    spread_between_passes: Measured
    passes: tuple[PassFigure, ...]
    row_units: tuple[UnitFigure, ...]
    lines: tuple[PassLine, ...]
    budget: tuple[Share, ...]
    targets: tuple[Target, ...]
    advice: tuple[Advice, ...]
    findings: tuple[Finding, ...]
    repairs: tuple[Notice, ...]
    warnings: tuple[Notice, ...]
    facts: tuple[Notice, ...]
    inputs: tuple[InputFile, ...]
    tool_version: str
    fixes: tuple[tuple[float, float], ...] = field(default=(), repr=False)
    cells: tuple[CellVerdict, ...] = ()
    origin: Origin = field(default_factory=Origin)
    soil: Soil = field(default_factory=Soil)
    recording: Recording | None = None
    distances: DistanceErrors | None = None
    with_fleet: FleetFigure | None = None

    def to_frame(self) -> DataFrame:
        """One row for each row unit on each pass, as a pandas data frame.

        Columns are named as the keys of ``passes`` in docs/result-json.md, followed by direction
        and speed of the pass as in ``lines``, all in SI units; ``start`` and ``end`` are
        datetime64[ns, UTC]. What is not known is NaN.
        """
        from .result_frame import result_frame

        return result_frame(self)

    def to_folium(self, *, tiles: bool = False) -> Map:
        """The passes as a folium map, which shows itself in a notebook (see `views.notebook`).

        Nothing is loaded from a network, but a background of online map tiles with ``tiles``.

        Raises
        ------
        ImportError : folium is not installed; ``pip install groundtruth[notebook]`` brings it.
        """
        # maps are drawn two floors up: the one import against the floors, by name and late
        notebook = import_module("groundtruth.views.notebook")
        shown: Map = notebook.result_map(self, tiles=tiles)
        return shown

    @property
    def verdict(self) -> Verdict:
        """Whether to change the figure in use, to keep it, or that this run cannot tell."""
        (low, high), value = self.ground_per_turn_95, self.ground_per_turn.value
        in_use_m = self.seeder.ground_per_gear_turn_in_use_m
        if not self.is_credible or (high - low) / 2 > USABLE * value:
            return Verdict.CANNOT_TELL
        if in_use_m is None:
            return Verdict.USE
        if not low <= in_use_m <= high:
            return Verdict.CHANGE
        narrow = in_use_m * (1 - NARROW) <= low and high <= in_use_m * (1 + NARROW)
        return Verdict.KEEP if narrow else Verdict.CANNOT_TELL

    @property
    def is_credible(self) -> bool:
        """Whether the figure can be true: a wheel can slip like this, and most counts agree."""
        return not (self.slip_is_impossible or self.most_counts_contradict)

    @property
    def slip_is_impossible(self) -> bool:
        """Whether slip, sure to 95 %, is less or more than a wheel can have."""
        return self.slip_95 is not None and (
            self.slip_95[1] < LEAST_SLIP or self.slip_95[0] > MOST_SLIP
        )

    @property
    def most_counts_contradict(self) -> bool:
        """Whether so many counts were left out that those kept are no more to be believed."""
        kept = sum(c.verdict is not Judgement.LEFT_OUT for c in self.cells)
        return bool(self.cells) and kept < LEAST_KEPT * len(self.cells)

    @property
    def in_use_agrees(self) -> bool | None:
        """Whether the figure in use lies in the 95 % interval; None where none is in use."""
        in_use_m = self.seeder.ground_per_gear_turn_in_use_m
        low, high = self.ground_per_turn_95
        return None if in_use_m is None else low <= in_use_m <= high


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitFigure:
    """One row unit pooled over its passes.

    ``turns_against_others`` is the unit's turns over the (geometric) mean of the other units that
    do not lag, on the same passes: 1.0 = like its neighbours; None where there is no neighbour.
    ``lags`` says that it turned measurably less than they did.
    """

    unit: str
    passes: int
    ground_per_turn: Measured
    slip: Measured | None
    turns_against_others: Measured | None
    lags: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """One source of uncertainty in the pooled figure. ``share`` is its part of the variance."""

    source: UncertaintySource
    std_m: float
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SlipPart:
    """One unit on one part of a pass; ``from_m`` and ``to_m`` count from where it began.

    ``line`` are the part's ends as (longitude, latitude) on the pass's axis.
    """

    number: int
    unit: str
    from_m: float
    to_m: float
    ground_per_turn: Measured
    slip: Measured | None
    line: tuple[tuple[float, float], tuple[float, float]]


def median_unit(figures: Iterable[PassFigure]) -> PassFigure | None:
    """The median row unit of a pass by ground per turn, None where there is none.

    It stands for the soil: a unit that lags for reasons of its own does not move it. Of an even
    number it is the lower of the two in the middle.
    """
    ordered = sorted(figures, key=lambda figure: figure.ground_per_turn.value)
    return ordered[(len(ordered) - 1) // 2] if ordered else None
