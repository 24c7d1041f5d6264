"""Stand counts: how many of the seeds dropped became plants, by crop and seed lot.

Plants in a counted length are a binomial count out of the seeds dropped there. Lengths of one
field differ by more than that (crust, slugs, wet corners), so the dispersion is estimated where
three lengths or more were counted (Pearson's statistic; McCullagh & Nelder 1989, *Generalized
Linear Models*, 2nd ed., 4.5.2, from memory), and taken as binomial, and said so, where not.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import exp, hypot, inf, log, sqrt
from os import PathLike

from .errors import InputError
from .measured import Measured
from .metering import Dispersion
from .notices import Notice
from .sheets import Row, read_rows
from .track import InputFile
from .uncertainty import Combined, Contribution, combine
from .units import FOOT
from .wishes import ALL

LEAST_DEGREES_OF_FREEDOM = 2
"""Fewer repeats say nothing about the dispersion."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StandCount:
    """Plants counted along a length (m) of one line. ``seeds_per_m`` were dropped there.

    Raises
    ------
    InputError : the length is not above 0, or plants are below 0.
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
            raise InputError(f"length is {self.length_m:g} m; it must be above 0")
        if self.plants < 0:
            raise InputError(f"plants is {self.plants}; a count cannot be below 0")


@dataclass(frozen=True, slots=True, kw_only=True)
class Emergence:
    """What came up of one crop and seed lot.

    ``of_seeds`` is plants over seeds dropped, ``field_emergence`` that over the germination: what
    the next target is divided by. ``dispersion`` 1 is binomial.
    """

    crop: str
    seed_lot: str
    lengths: int
    length_m: float
    plants: int
    plants_per_m: Measured
    of_seeds: Measured
    of_seeds_95: tuple[float, float]
    field_emergence: Measured
    field_emergence_95: tuple[float, float]
    dispersion: Dispersion


def binomial_limits(hits: int, trials: int, level: float = 0.95) -> tuple[float, float]:
    """Exact limits of a share from one count (Clopper & Pearson 1934, Biometrika 26:404).

    Raises
    ------
    ValueError : not 0 ≤ hits ≤ trials, or no trial.
    """
    if not 0 <= hits <= trials or trials < 1:
        raise ValueError(f"{hits} of {trials} is no share")
    from scipy.special import betaincinv

    tail = (1 - level) / 2
    low = 0.0 if hits == 0 else float(betaincinv(hits, trials - hits + 1, tail))
    high = 1.0 if hits == trials else float(betaincinv(hits + 1, trials - hits, 1 - tail))
    return low, high


def emergence(
    counts: Sequence[StandCount],
    *,
    germination: Measured = ALL,
    seeds_per_m: Measured | None = None,
) -> Emergence:
    """Field emergence from the stand counts of one crop and seed lot.

    Parameters
    ----------
    counts : lengths counted.
    germination : share of the seeds able to germinate.
    seeds_per_m : seeds dropped per metre, for counts that do not say themselves; its relative
        uncertainty is taken as common to all counts.

    Raises
    ------
    InputError : no count, a count without seeds dropped, or more plants than seeds by far.
    """
    if not counts:
        raise InputError("no stand counts; count plants along a measured length")
    dropped = []
    for count in counts:
        per_m = count.seeds_per_m or (seeds_per_m.value if seeds_per_m else 0.0)
        if not per_m > 0:
            where = f"line {count.line}: " if count.line else ""
            raise InputError(f"{where}{count.crop}: how many seeds were dropped is not known; "
                             "give seeds_per_metre")  # fmt: skip
        dropped.append(per_m * count.length_m)
    plants, seeds = sum(c.plants for c in counts), sum(dropped)
    share = plants / seeds
    if share > 1.2:
        raise InputError(
            f"{counts[0].crop}: {plants} plants from {seeds:.0f} seeds; check the lengths and "
            "the seeds per metre"
        )
    dispersion = _dispersion([c.plants for c in counts], dropped)
    spread = combine([_binomial_part(share, seeds, dispersion)])
    hits = min(plants, round(seeds))
    if dispersion.assumed:
        low, high = binomial_limits(hits, max(round(seeds), 1))
    else:
        low, high = score_limits(hits, seeds, dispersion)
    dropped_u = seeds_per_m.relative if seeds_per_m else 0.0
    of_seeds_95 = _widened(share, (low, high), dropped_u)
    relative = hypot(spread.std / share if share else 0.0, dropped_u)
    of_seeds = Measured(share, relative * share)
    length_m = sum(c.length_m for c in counts)
    field = of_seeds.per(germination)
    field_95 = _widened(share, (low, high), hypot(dropped_u, germination.relative))
    return Emergence(
        crop=counts[0].crop,
        seed_lot=counts[0].seed_lot,
        lengths=len(counts),
        length_m=length_m,
        plants=plants,
        plants_per_m=Measured(plants / length_m, spread.std * seeds / length_m),
        of_seeds=of_seeds,
        of_seeds_95=_capped(of_seeds_95, share),
        field_emergence=field,
        field_emergence_95=_capped(
            (field_95[0] / germination.value, field_95[1] / germination.value), field.value
        ),
        dispersion=dispersion,
    )


def _dispersion(plants: Sequence[int], dropped: Sequence[float]) -> Dispersion:
    free = len(plants) - 1
    share = sum(plants) / sum(dropped)
    if free < LEAST_DEGREES_OF_FREEDOM or not 0 < share < 1:
        return Dispersion(factor=1.0, degrees_of_freedom=0)
    variance = share * (1 - share)
    statistic = sum(
        (y - share * m) ** 2 / (m * variance) for y, m in zip(plants, dropped, strict=True)
    )
    return Dispersion(factor=max(statistic / free, 0.01), degrees_of_freedom=free)


def _binomial_part(share: float, seeds: float, dispersion: Dispersion) -> Contribution:
    inner = min(max(share, 0.5 / seeds), 1 - 0.5 / seeds) if seeds > 1 else 0.5
    return Contribution(
        std=sqrt(dispersion.factor * inner * (1 - inner) / seeds),
        degrees_of_freedom=dispersion.degrees_of_freedom or inf,
    )


def score_limits(hits: int, seeds: float, dispersion: Dispersion) -> tuple[float, float]:
    """Wilson's 95 % limits of a share with t²·φ for z² (Wilson 1927, Journal of the American
    Statistical Association 22:209), t with the degrees of freedom of the dispersion."""
    t = Combined(std=1.0, degrees_of_freedom=dispersion.degrees_of_freedom).coverage_factor()
    q, share = t * t * dispersion.factor / seeds, hits / seeds
    middle = (share + q / 2) / (1 + q)
    reach = sqrt(q * share * (1 - share) + q * q / 4) / (1 + q)
    return max(0.0, middle - reach), min(1.0, middle + reach)


def _widened(share: float, ends: tuple[float, float], relative: float) -> tuple[float, float]:
    """Interval of a share widened by an independent relative error, on the scale of logarithms."""
    low, high = ends
    added = (1.96 * relative) ** 2
    if not added or not share:
        return low, high * exp(sqrt(added))
    if low > 0:
        low = share * exp(-sqrt(log(share / low) ** 2 + added))
    return low, share * exp(sqrt(log(max(high / share, 1.0)) ** 2 + added))


def _capped(ends: tuple[float, float], share: float) -> tuple[float, float]:
    """No more than all can come up; a share above 1 is shown as it is, for it needs an answer."""
    return ends if share > 1 else (ends[0], min(1.0, ends[1]))


_ALSO = {"lot": "seed_lot", "day": "date", "seeds_per_meter": "seeds_per_metre"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Stands:
    """All stand counts of a sheet."""

    counts: tuple[StandCount, ...]
    file: InputFile
    notices: tuple[Notice, ...] = ()

    @property
    def lots(self) -> tuple[tuple[str, str], ...]:
        """(crop, seed lot) pairs in order of first appearance."""
        return tuple(dict.fromkeys((c.crop, c.seed_lot) for c in self.counts))

    def of(self, crop: str, seed_lot: str) -> tuple[StandCount, ...]:
        """The counts of one pair of ``lots``."""
        return tuple(c for c in self.counts if (c.crop, c.seed_lot) == (crop, seed_lot))


def read_stands(path: str | PathLike[str]) -> Stands:
    """The stand counts in a sheet `date,crop,seed_lot,bed,line,length,plants[,seeds_per_metre]`.

    Raises
    ------
    SheetError : the sheet cannot be read, or a line holds no usable count; the message names it.
    """
    rows = read_rows(
        path,
        what="stand sheet",
        required=("crop", "length", "plants"),
        optional=("date", "seed_lot", "bed", "line", "seeds_per_metre", "seeds_per_foot"),
        also=_ALSO,
    )
    return Stands(counts=tuple(_count(r) for r in rows), file=rows.file, notices=rows.notices)


def _count(row: Row) -> StandCount:
    length_m, plants = row.length_m("length"), row.number("plants")
    if length_m is None or plants is None:
        raise row.fail(f"{'length' if length_m is None else 'plants'} is empty")
    if not plants.is_integer():
        raise row.fail(f"plants is {plants:g}; write a whole number")
    per_ft, day = row.above_zero("seeds_per_foot"), row.day("date")
    per_m = row.above_zero("seeds_per_metre")
    try:
        return StandCount(
            crop=row.text("crop"),
            seed_lot=row.text("seed_lot"),
            length_m=length_m,
            plants=int(plants),
            day=day,
            bed=row.text("bed"),
            line_of_bed=row.text("line"),
            seeds_per_m=per_ft / FOOT.value if per_ft else per_m,
            line=row.line,
        )
    except InputError as why:
        raise row.fail(str(why)) from None
