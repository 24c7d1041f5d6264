"""A run: one morning's track, turn counts and machine, as handed over by a person."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from .errors import RunFileError
from .notices import Notice
from .seeder import Seeder
from .track import InputFile, Track
from .turns import TurnSheet

UnitSystem = Literal["metric", "us"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sowing:
    """A crop wish: plants wanted this far apart along the row (m), and the shares that grow.

    Raises
    ------
    RunFileError : the spacing is not above 0, or a share is outside (0, 1].
    """

    crop: str
    spacing_m: float
    germination: float = 1.0
    field_emergence: float = 1.0

    def __post_init__(self) -> None:
        if not 0 < self.spacing_m < float("inf"):
            raise RunFileError(
                f"crop {self.crop}: spacing is {self.spacing_m:g} m; it must be above 0"
            )
        for name in ("germination", "field_emergence"):
            share = getattr(self, name)
            if not 0 < share <= 1:
                hint = f"; write {share / 100:g} for {share:g} %" if 1 < share <= 100 else ""
                raise RunFileError(
                    f"crop {self.crop}: {name} is {share:g}; a share above 0 and up to 1{hint}"
                )


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """Everything `measure` needs. ``track`` and ``turns`` are already read and repaired."""

    name: str
    track: Track
    turns: TurnSheet
    seeder: Seeder = field(default_factory=Seeder)
    sowings: tuple[Sowing, ...] = ()
    units: UnitSystem = "metric"
    time_zone: str = "UTC"
    inputs: tuple[InputFile, ...] = ()
    notices: tuple[Notice, ...] = ()
