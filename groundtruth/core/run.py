"""A run: one morning's track, turn counts and machine, as handed over by a person."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from .bounds import refuse_outside
from .crops import Crop
from .errors import RunFileError
from .fleet_prior import FleetPrior
from .measured import Measured
from .notices import Notice
from .origin import Origin, Soil
from .seeder import Seeder
from .track import InputFile, Track
from .turns import TurnSheet

UnitSystem = Literal["metric", "us"]
ReceiverKind = Literal["phone", "centimetre"]
"""What recorded the track: a phone or the like, or a receiver with corrections, good to cm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Beds:
    """What is known of the ground between the two ends of every pass.

    ``taped`` is one length for all passes, between where the seeder starts and where it stops;
    ``alike_within_m`` says that all passes run between the same two lines, each within this limit.

    Raises
    ------
    RunFileError : the limit is below 0, or a figure is out of its bounds.
    """

    taped: Measured | None = None
    alike_within_m: float | None = None

    def __post_init__(self) -> None:
        if self.alike_within_m is not None and not 0 <= self.alike_within_m < float("inf"):
            raise RunFileError(
                f"alike_within is {self.alike_within_m:g} m; it must be 0 or more",
                column="alike_within",
            )
        if self.alike_within_m is not None:
            refuse_outside("alike_within", self.alike_within_m, "alike_within", error=RunFileError)
        if self.taped is not None:
            refuse_outside("length", self.taped.value, "bed_length", error=RunFileError)


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """Everything `measure` needs. ``track`` and ``turns`` are already read and repaired.

    ``receiver`` is what recorded the track, None where the track itself has to tell. ``prior`` is
    what a fleet taught, None where nothing is known beforehand.
    """

    name: str
    track: Track
    turns: TurnSheet
    seeder: Seeder = field(default_factory=Seeder)
    crops: tuple[Crop, ...] = ()
    beds: Beds = field(default_factory=Beds)
    units: UnitSystem = "metric"
    time_zone: str = "UTC"
    receiver: ReceiverKind | None = None
    inputs: tuple[InputFile, ...] = ()
    notices: tuple[Notice, ...] = ()
    origin: Origin = field(default_factory=Origin)
    soil: Soil = field(default_factory=Soil)
    prior: FleetPrior | None = None
