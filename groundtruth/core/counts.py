"""What was counted: seeds caught on the bench, plants standing in the row."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from .bounds import refuse_day, refuse_outside
from .errors import InputError
from .measured import Measured


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchCount:
    """One catch: seeds caught in ``turns`` gear turns at one setting.

    ``seeds`` carries the error of this catch's weighing, 0 where seeds were counted;
    ``shared_relative`` is a relative standard uncertainty that all catches share (seeds per gram).
    ``line`` is the line in the sheet, ``turns_per_minute`` how fast the gear was turned.

    >>> BenchCount(crop="beet", seed_lot="", setting="9", turns=0, seeds=Measured(90))
    Traceback (most recent call last):
    groundtruth.core.errors.InputError: turns is 0; a catch needs more than 0

    Raises
    ------
    InputError : turns are not above 0, seeds are below 0, or a figure is out of its bounds.
    """

    crop: str
    seed_lot: str
    setting: str
    turns: float
    seeds: Measured
    shared_relative: float = 0.0
    turns_per_minute: float | None = None
    line: int = 0

    def __post_init__(self) -> None:
        if not self.turns > 0:
            raise InputError(f"turns is {self.turns:g}; a catch needs more than 0", column="turns")
        refuse_outside("turns", self.turns, "bench_turns")
        if not self.seeds.value >= 0:
            raise InputError(
                f"seeds is {self.seeds.value:g}; a catch cannot hold less than 0", column="seeds"
            )
        refuse_outside("seeds", self.seeds.value, "bench_seeds")
        if self.turns_per_minute is not None:
            refuse_outside("turns_per_minute", self.turns_per_minute, "turns_per_minute")
        if not self.setting:
            raise InputError("setting is empty; write what the seeder was set to", column="setting")


def weighed_seeds(
    mass_kg: float, mass_std_kg: float, seeds_per_kg: Measured
) -> tuple[Measured, float]:
    """Seeds in a weighed catch with the scale's error, and the relative error of seeds per mass.

    The second is shared by all catches weighed with that figure and does not average out.

    >>> seeds, relative = weighed_seeds(0.0025, 0.00005, Measured(60_000.0, 3_000.0))
    >>> seeds, relative
    (Measured(value=150.0, std=3.0), 0.05)
    """
    seeds = Measured(mass_kg, mass_std_kg).scaled(seeds_per_kg.value)
    return seeds, seeds_per_kg.relative


@dataclass(frozen=True, slots=True, kw_only=True)
class StandCount:
    """Plants counted along a length (m) of one line. ``seeds_per_m`` were dropped there.

    Raises
    ------
    InputError : the length is not above 0, plants are below 0, or a figure is out of its bounds.
    """

    crop: str
    seed_lot: str
    length_m: float
    plants: int
    day: date | None = None
    bed: str = ""
    line_of_bed: str = ""
    seeds_per_m: float | None = None
    line: int = 0

    def __post_init__(self) -> None:
        if not self.length_m > 0:
            raise InputError(f"length is {self.length_m:g} m; it must be above 0", column="length")
        if self.plants < 0:
            raise InputError(f"plants is {self.plants}; a count cannot be below 0", column="plants")
        refuse_outside("length", self.length_m, "counted_length")
        refuse_outside("plants", self.plants, "plants")
        if self.seeds_per_m is not None:
            refuse_outside("seeds_per_metre", self.seeds_per_m, "stand")
        if self.day is not None:
            refuse_day("date", self.day)
