"""A crop as it is to be sown, and the seeds per gear turn that this takes.

    seeds per metre = plants per metre / (germination × field emergence)
    seeds per turn  = seeds per metre × ground per turn

Proportions, common practice without a source; docs/formulas.md derives them and the published
worked examples in tests/published/ check them.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite, sqrt

from .bounds import question_about, refuse_outside
from .errors import InputError
from .language import English
from .measured import Measured, widened_interval
from .notices import Notice

ALL = Measured(1.0)
"""A share of 1, exactly."""

ASSUMED_TOLERANCE = 0.15
"""A stand this share above or below the wanted one is accepted where no range is given. Our
choice; common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Crop:
    """One crop and seed lot as it is to be sown, per metre of one line of plants.

    Either ``plants_per_m`` is wanted, and germination and field emergence say how many seeds that
    takes, or ``seeds_per_m`` itself (a rate by weight). ``field_emergence`` is the share of the
    seeds able to germinate that come up. ``accept`` is the range of plants per metre (of seeds per
    metre for a rate) that needs no remedy, ``lines`` the lines of plants on a bed. Lengths in m,
    masses in kg.

    >>> beet = Crop(name="beet", plants_per_m=20, germination=Measured(0.8))
    >>> beet.seeds_wanted_per_m.value
    25.0

    Raises
    ------
    InputError : not exactly one of the two, or a figure out of its range.
    """

    name: str
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
        if not (self.wanted > 0 and isfinite(self.wanted)):
            raise InputError(f"the stand wanted is {self.wanted:g}; it must be above 0")
        refuse_outside("the stand wanted", self.wanted, "stand")
        for name in ("germination", "field_emergence"):
            exact_share(name, getattr(self, name).value)
        if self.accept and not 0 < self.accept[0] < self.accept[1]:
            low, high = self.accept
            raise InputError(
                f"accept is {low:g} to {high:g}; the first must be above 0 and less",
                column="accept",
            )
        for end in self.accept or ():
            refuse_outside("accept", end, "stand")
        if self.seeds_per_kg is not None:
            refuse_outside("seeds_per_gram", self.seeds_per_kg.value / 1000, "seeds_per_gram")
        if self.depth_m is not None:
            refuse_outside("depth", self.depth_m, "depth")
        if self.lines < 1:
            raise InputError(f"lines is {self.lines}; a bed has 1 or more", column="lines")
        refuse_outside("lines", self.lines, "lines")

    def doubts(self, where: str = "") -> tuple[Notice, ...]:
        """A question about a spacing that is possible but strange; ``where`` names its file."""
        name = English("{crop}: spacing", crop=self.name) if self.name else English("spacing")
        text = question_about(name, self.spacing_m, "spacing")
        return (Notice(kind="warning", text=text, where=where),) if text else ()

    @property
    def by_rate(self) -> bool:
        """Whether seeds, not plants, are wanted."""
        return self.seeds_per_m is not None

    @property
    def wanted(self) -> float:
        """Plants wanted per metre of line, or seeds for a rate. [1/m]"""
        return self.seeds_per_m if self.seeds_per_m is not None else self.plants_per_m or 0.0

    @property
    def spacing_m(self) -> float | None:
        """Distance from plant to plant along the line, None for a rate. [m]"""
        if self.plants_per_m is None:
            return None
        exact = 1 / self.plants_per_m
        short = float(f"{exact:.15g}")  # 0.07, not 0.07000000000000001, where both give the stand
        return short if 1 / short == self.plants_per_m else exact

    @property
    def accepted(self) -> tuple[float, float]:
        """The accepted range, ± ``ASSUMED_TOLERANCE`` where none is given. [1/m]"""
        return self.accept or (
            self.wanted * (1 - ASSUMED_TOLERANCE),
            self.wanted * (1 + ASSUMED_TOLERANCE),
        )

    @property
    def establishment(self) -> Measured:
        """Share of the seeds that become plants, germination × field emergence; 1 for a rate."""
        return ALL if self.by_rate else self.germination.times(self.field_emergence)

    @property
    def seeds_wanted_per_m(self) -> Measured:
        """Seeds to drop per metre of line, wanted / establishment. [1/m]"""
        return Measured(self.wanted).per(self.establishment)

    def target(
        self,
        ground_per_turn: Measured,
        ground_per_turn_95: tuple[float, float] | None = None,
        in_use_m: float | None = None,
    ) -> Target:
        """Seeds to drop in one gear turn that covers this much ground (m), with 95 % interval.

        The interval is that of the ground per turn (the normal one where it is not given), widened
        by what is not known of germination and emergence. ``in_use_m`` is the ground per turn that
        the grower reckoned with so far.

        >>> beet = Crop(name="beet", plants_per_m=20, germination=Measured(0.8))
        >>> target = beet.target(Measured(0.64, 0.01), (0.62, 0.66), in_use_m=0.6)
        >>> target.seeds_per_turn.value, target.seeds_per_turn_95, target.seeds_per_turn_in_use
        (16.0, (15.5, 16.5), 15.0)
        """
        per_m = self.seeds_wanted_per_m
        low, high = ground_per_turn_95 or ground_per_turn.interval()
        wanted = per_m.times(ground_per_turn)
        return Target(
            crop=self,
            seeds_per_turn=wanted,
            seeds_per_turn_95=widened_interval(
                (low * per_m.value, high * per_m.value), wanted.value, per_m.relative
            ),
            seeds_per_turn_in_use=None if in_use_m is None else in_use_m * per_m.value,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """Seeds per gear turn for one crop: corrected, and by the figure in use (None if not given)."""

    crop: Crop
    seeds_per_turn: Measured
    seeds_per_turn_95: tuple[float, float]
    seeds_per_turn_in_use: float | None


def plants_per_metre(spacing_m: float) -> float:
    """Plants per metre of line at a spacing along the line, 1 / spacing. [1/m]

    >>> plants_per_metre(0.05)
    20.0

    Raises
    ------
    InputError : a figure is not above 0. So do the two functions below.
    """
    _above_zero(spacing=spacing_m)
    refuse_outside("spacing", spacing_m, "spacing")
    return 1 / spacing_m


def plants_per_metre_from_bed(plants_per_bed_m: float, lines: int) -> float:
    """Plants per metre of one line from plants per metre of bed with that many lines. [1/m]

    >>> plants_per_metre_from_bed(60, lines=3)
    20.0
    """
    _above_zero(plants_per_bed_metre=plants_per_bed_m, lines=lines)
    return plants_per_bed_m / lines


def seeds_per_metre_from_rate(
    rate_kg_m2: float, seeds_per_kg: float, row_spacing_m: float
) -> float:
    """Seeds per metre of row at a rate by weight, rate × seeds per weight × row spacing. [1/m]

    10 kg/ha in rows of 25 cm at 60 seeds a gram:

    >>> round(seeds_per_metre_from_rate(10 / 10_000, 60_000, 0.25), 9)
    15.0
    """
    _above_zero(rate=rate_kg_m2, seeds_per_weight=seeds_per_kg, row_spacing=row_spacing_m)
    refuse_outside("rate", rate_kg_m2, "rate")
    refuse_outside("seeds_per_gram", seeds_per_kg / 1000, "seeds_per_gram")
    refuse_outside("row_spacing", row_spacing_m, "row_spacing")
    return rate_kg_m2 * seeds_per_kg * row_spacing_m


def exact_share(name: str, share: float) -> Measured:
    """A share of the seeds as it stands, without uncertainty; ``name`` is what errors call it.

    Raises
    ------
    InputError : it is not above 0 and up to 1.
    """
    if not 0 < share <= 1:
        hint = f"; write {share / 100:g} for {share:g} %" if 1 < share <= 100 else ""
        raise InputError(f"{name} is {share:g}; a share above 0 and up to 1{hint}", column=name)
    refuse_outside(name, share, "germination")
    return Measured(share)


def germination_from_test(share: float, tested: float | None) -> Measured:
    """Germination with the binomial error of a test on so many seeds, √(g(1 − g)/n).

    Without a number it is taken as it stands. A share of 1 gets the error of half a seed missing.

    >>> germination_from_test(0.8, 100)
    Measured(value=0.8, std=0.04)

    Raises
    ------
    InputError : it is no share above 0 and up to 1, or no number of seeds.
    """
    germination = exact_share("germination", share)
    if tested is None:
        return germination
    refuse_outside("germination_tested", tested, "seeds_tested")
    inner = min(max(share, 0.5 / tested), 1 - 0.5 / tested)
    return Measured(share, sqrt(inner * (1 - inner) / tested))


def _above_zero(**figures: float) -> None:
    for name, value in figures.items():
        if not (value > 0 and isfinite(value)):
            words = name.replace("_", " ")
            raise InputError(f"{words} is {value:g}; it must be above 0", column=name)
