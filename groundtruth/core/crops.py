"""A crop wish: plants wanted along the row, and the shares of seeds that grow."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, hypot, isfinite, log, sqrt

from .errors import InputError
from .measured import Measured


def _above_zero(**figures: float) -> None:
    for name, value in figures.items():
        if not (value > 0 and isfinite(value)):
            raise InputError(f"{name.replace('_', ' ')} is {value:g}; it must be above 0")


def _share(**shares: float) -> None:
    for name, value in shares.items():
        if not 0 < value <= 1:
            hint = f"; write {value / 100:g} for {value:g} %" if 1 < value <= 100 else ""
            raise InputError(
                f"{name.replace('_', ' ')} is {value:g}; a share above 0 and up to 1{hint}"
            )


def plants_per_metre(spacing_m: float) -> float:
    """Plants per metre of row at a spacing along the row, 1 / spacing. [1/m]"""
    _above_zero(spacing=spacing_m)
    return 1 / spacing_m


def plants_per_metre_from_bed(plants_per_bed_m: float, lines: int) -> float:
    """Plants per metre of one line from plants per metre of bed with that many lines. [1/m]"""
    _above_zero(plants_per_bed_metre=plants_per_bed_m, lines=lines)
    return plants_per_bed_m / lines


def seeds_to_drop(plants: float, germination: float = 1.0, field_emergence: float = 1.0) -> float:
    """Seeds that give so many plants, plants / (germination × field emergence). [same as plants]

    ``field_emergence`` is the share of the seeds able to germinate that come up in the field.
    """
    _above_zero(plants=plants)
    _share(germination=germination, field_emergence=field_emergence)
    return plants / (germination * field_emergence)


def seeds_per_metre_from_rate(rate_kg_m2: float, seeds_per_kg: float, row_spacing_m: float) -> (
    float
):  # fmt: skip
    """Seeds per metre of row at a rate by weight, rate × seeds per weight × row spacing. [1/m]"""
    _above_zero(rate=rate_kg_m2, seeds_per_weight=seeds_per_kg, row_spacing=row_spacing_m)
    return rate_kg_m2 * seeds_per_kg * row_spacing_m


ALL = Measured(1.0)
"""A share of 1, exactly."""


ASSUMED_TOLERANCE = 0.15
"""A stand this share above or below the wanted one is accepted where no range is given. Our
choice; common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """One crop and seed lot, per metre of one line of plants.

    Either ``plants_per_m`` is wanted, and germination and field emergence say how many seeds that
    takes, or ``seeds_per_m`` itself (a rate by weight). ``accept`` is the range of plants per
    metre (of seeds per metre for a rate) that needs no remedy. Lengths in m, masses in kg.

    Raises
    ------
    InputError : not exactly one of the two, or a figure out of its range.
    """

    crop: str
    seed_lot: str = ""
    plants_per_m: float | None = None
    seeds_per_m: float | None = None
    germination: Measured = ALL
    field_emergence: Measured = ALL
    accept: tuple[float, float] | None = None
    lines: int = 1
    seeds_per_kg: Measured | None = None
    depth_m: float | None = None

    def __post_init__(self) -> None:
        if (self.plants_per_m is None) == (self.seeds_per_m is None):
            raise InputError("give either a stand (spacing or plants per bed) or a rate")
        if not self.wanted > 0:
            raise InputError(f"the stand wanted is {self.wanted:g}; it must be above 0")
        for name in ("germination", "field_emergence"):
            share = getattr(self, name).value
            if not 0 < share <= 1:
                hint = f"; write {share / 100:g} for {share:g} %" if 1 < share <= 100 else ""
                raise InputError(f"{name} is {share:g}; a share above 0 and up to 1{hint}")
        if self.accept and not 0 < self.accept[0] < self.accept[1]:
            low, high = self.accept
            raise InputError(f"accept is {low:g} to {high:g}; the first must be above 0 and less")
        if self.lines < 1:
            raise InputError(f"lines is {self.lines}; a bed has 1 or more")

    @property
    def by_rate(self) -> bool:
        """Whether seeds, not plants, are wanted."""
        return self.seeds_per_m is not None

    @property
    def wanted(self) -> float:
        """Plants wanted per metre of line, or seeds for a rate. [1/m]"""
        return self.seeds_per_m if self.seeds_per_m is not None else self.plants_per_m or 0.0

    @property
    def accepted(self) -> tuple[float, float]:
        """The accepted range, ± ``ASSUMED_TOLERANCE`` where none is given. [1/m]"""
        return self.accept or (
            self.wanted * (1 - ASSUMED_TOLERANCE),
            self.wanted * (1 + ASSUMED_TOLERANCE),
        )

    @property
    def growing(self) -> Measured:
        """Share of the seeds that become plants, germination × field emergence; 1 for a rate."""
        return ALL if self.by_rate else self.germination.times(self.field_emergence)

    @property
    def seeds_wanted_per_m(self) -> Measured:
        """Seeds to drop per metre of line, wanted / (germination × field emergence). [1/m]"""
        return Measured(self.wanted).per(self.growing)

    def seeds_per_turn(self, ground_per_turn: Measured) -> Measured:
        """Seeds to drop in one gear turn that covers this much ground (m). [-]"""
        return self.seeds_wanted_per_m.times(ground_per_turn)

    def seeds_per_turn_95(
        self, ground_per_turn: Measured, ground_per_turn_95: tuple[float, float]
    ) -> tuple[float, float]:
        """Interval of `seeds_per_turn`: that of the ground per turn, widened by what is not known
        of germination and emergence (relative errors in quadrature, on logarithms)."""
        value = self.seeds_per_turn(ground_per_turn).value
        own = 1.96 * self.seeds_wanted_per_m.relative
        low, high = (hypot(log(end / ground_per_turn.value), own) for end in ground_per_turn_95)
        return value * exp(-low), value * exp(high)


def germination_from_test(share: float, tested: float | None) -> Measured:
    """Germination with the binomial error of a test on so many seeds, √(g(1 − g)/n).

    Without a number it is taken as it stands. A share of 1 gets the error of half a seed missing.
    """
    if not tested:
        return Measured(share)
    if not 0 < share <= 1:
        return Measured(share)  # refused, with its hint, where it is used
    inner = min(max(share, 0.5 / tested), 1 - 0.5 / tested)
    return Measured(share, sqrt(inner * (1 - inner) / tested))
