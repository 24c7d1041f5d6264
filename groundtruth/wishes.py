"""What is wanted of each crop: a stand or a rate, the seed's quality, what stand is accepted."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, hypot, log, sqrt
from os import PathLike

from .errors import InputError, QuantityError
from .measured import Measured
from .notices import Notice
from .readers.text import number
from .seeding import plants_per_metre, plants_per_metre_from_bed, seeds_per_metre_from_rate
from .sheets import Row, read_rows
from .track import InputFile
from .units import FOOT, parse_area, parse_mass

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


def parse_rate(text: str, *, what: str = "rate") -> float:
    """A written rate by weight ("9 lb/acre", "10 kg/ha") in kg/m².

    Raises
    ------
    QuantityError : it cannot be read or is not above 0.
    """
    mass, slash, area = text.partition("/")
    if not slash:
        mass, slash, area = text.partition(" per ")
    if not slash:
        raise QuantityError(f"{what}: {text!r} is no rate; write for example 9 lb/acre or 10 kg/ha")
    return parse_mass(mass, what=what, above_zero=True) / parse_area(f"1 {area}", what=what)


def parse_accept(text: str) -> tuple[float, float]:
    """An accepted range of plants along a line, "20-28", "20 to 28 per m", "6-9 per ft". [1/m]

    Raises
    ------
    QuantityError : it is no such range.
    """
    match = re.fullmatch(
        r"\s*([\d.,]+)\s*(?:-|–|—|to|…|\.\.)\s*([\d.,]+)\s*(?:(?:/|per)\s*(m|metre|meter|ft|foot))?\s*",
        text.lower(),
    )
    try:
        ends = [number(match[1]), number(match[2])] if match else []
    except ValueError:
        ends = []
    if not match or not 0 < ends[0] < ends[1]:
        raise QuantityError(
            f"accept: {text!r} is no range; write plants as in 20-28 per m or 6-9 per ft"
        )
    per = FOOT.value if match[3] in ("ft", "foot") else 1.0
    return ends[0] / per, ends[1] / per


_COLUMNS = (
    "seed_lot",
    "spacing",
    "plants_per_bed_metre",
    "plants_per_bed_foot",
    "lines",
    "rate",
    "row_spacing",
    "germination",
    "germination_tested",
    "field_emergence",
    "accept",
    "seeds_per_gram",
    "depth",
)
_ALSO = {
    "lot": "seed_lot",
    "plants_per_bed_meter": "plants_per_bed_metre",
    "emergence": "field_emergence",
    "tested": "germination_tested",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """All wishes of a sheet."""

    wishes: tuple[Wish, ...]
    file: InputFile
    notices: tuple[Notice, ...] = ()


def read_wishes(path: str | PathLike[str]) -> Wishes:
    """The wishes in a crop sheet, one line for each crop and seed lot.

    Raises
    ------
    SheetError : the sheet cannot be read, or a line cannot be used; the message names it.
    """
    rows = read_rows(path, what="crop sheet", required=("crop",), optional=_COLUMNS, also=_ALSO)
    return Wishes(wishes=tuple(_wish(r) for r in rows), file=rows.file, notices=rows.notices)


def _wish(row: Row) -> Wish:
    crop = row.text("crop")
    if not crop:
        raise row.fail("crop is empty; name it")
    lines = row.above_zero("lines")
    if lines is not None and not lines.is_integer():
        raise row.fail(f"lines is {lines:g}; write a whole number")
    per_gram = row.with_limits("seeds_per_gram")
    try:
        return Wish(
            crop=crop,
            seed_lot=row.text("seed_lot"),
            **_density(row, int(lines or 1), per_gram),
            germination=germination_from_test(
                row.share("germination") or 1.0, row.above_zero("germination_tested")
            ),
            field_emergence=row.share_with_limits("field_emergence") or ALL,
            accept=parse_accept(row.text("accept")) if row.text("accept") else None,
            lines=int(lines or 1),
            seeds_per_kg=per_gram.scaled(1000) if per_gram else None,
            depth_m=row.length_m("depth"),
        )
    except InputError as why:
        if str(why).startswith(row.file):
            raise
        raise row.fail(f"{crop}: {why}") from None


def _density(row: Row, lines: int, seeds_per_gram: Measured | None) -> dict[str, float]:
    """The stand or rate wanted, from the one column that is filled."""
    ways = ("spacing", "plants_per_bed_metre", "plants_per_bed_foot", "rate")
    given = [name for name in ways if row.text(name)]
    if len(given) != 1:
        found = " and ".join(given) or "none of them"
        raise row.fail(f"give one of {', '.join(ways)}; {found} is filled")
    if spacing_m := row.length_m("spacing"):
        return {"plants_per_m": plants_per_metre(spacing_m)}
    for column, metres in (("plants_per_bed_metre", 1.0), ("plants_per_bed_foot", FOOT.value)):
        if plants := row.above_zero(column):
            return {"plants_per_m": plants_per_metre_from_bed(plants / metres, lines)}
    row_spacing_m = row.length_m("row_spacing")
    if row_spacing_m is None or seeds_per_gram is None:
        raise row.fail("a rate needs row_spacing and seeds_per_gram too")
    rate = parse_rate(row.text("rate"))
    per_m = seeds_per_metre_from_rate(rate, seeds_per_gram.value * 1000, row_spacing_m)
    return {"seeds_per_m": per_m}


def with_emergence(wishes: Sequence[Wish], found: dict[tuple[str, str], Measured]) -> list[Wish]:
    """The wishes with field emergence as last found in the field for that crop and lot.

    ``found`` maps (crop, lot) in small letters; a crop's entry without lot serves all its lots.
    """
    from dataclasses import replace

    out = []
    for wish in wishes:
        key = wish.crop.casefold()
        share = found.get((key, wish.seed_lot.casefold())) or found.get((key, ""))
        out.append(replace(wish, field_emergence=share) if share else wish)
    return out
