"""Stand counts: how many of the seeds dropped became plants, by crop and seed lot.

Plants in a counted length are a binomial count out of the seeds dropped there. Lengths of one
field differ by more than that (crust, slugs, wet corners), so the dispersion is estimated where
three lengths or more were counted (Pearson's statistic; McCullagh & Nelder 1989, *Generalized
Linear Models*, 2nd ed., 4.5.2, from memory), and taken as binomial, and said so, where not.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import hypot, sqrt

from ..core.counts import StandCount
from ..core.crops import ALL, Crop
from ..core.errors import InputError
from ..core.language import fixed
from ..core.measured import Measured, widened_interval
from ..stats.intervals import Dispersion, binomial_limits, pearson_dispersion, score_limits


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

    >>> count = StandCount(crop="beet", seed_lot="", length_m=10, plants=204, seeds_per_m=30)
    >>> found = emergence([count], germination=Measured(0.85))
    >>> round(found.of_seeds.value, 3), round(found.field_emergence.value, 3)
    (0.68, 0.8)

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
            f"{counts[0].crop}: {plants} plants from {fixed(seeds, 0)} seeds; check the lengths "
            "and the seeds per metre"
        )
    dispersion = _dispersion([c.plants for c in counts], dropped)
    std = _binomial_std(share, seeds, dispersion)
    hits = min(plants, round(seeds))
    if dispersion.assumed:
        low, high = binomial_limits(hits, max(round(seeds), 1))
    else:
        low, high = score_limits(hits, seeds, dispersion)
    dropped_u = seeds_per_m.relative if seeds_per_m else 0.0
    of_seeds_95 = widened_interval((low, high), share, dropped_u)
    relative = hypot(std / share if share else 0.0, dropped_u)
    of_seeds = Measured(share, relative * share)
    length_m = sum(c.length_m for c in counts)
    field = of_seeds.per(germination)
    field_95 = widened_interval((low, high), share, hypot(dropped_u, germination.relative))
    return Emergence(
        crop=counts[0].crop,
        seed_lot=counts[0].seed_lot,
        lengths=len(counts),
        length_m=length_m,
        plants=plants,
        plants_per_m=Measured(plants / length_m, std * seeds / length_m),
        of_seeds=of_seeds,
        of_seeds_95=_capped(of_seeds_95, share),
        field_emergence=field,
        field_emergence_95=_capped(
            (field_95[0] / germination.value, field_95[1] / germination.value), field.value
        ),
        dispersion=dispersion,
    )


def _dispersion(plants: Sequence[int], dropped: Sequence[float]) -> Dispersion:
    share = sum(plants) / sum(dropped)
    if not 0 < share < 1:
        return Dispersion(factor=1.0, degrees_of_freedom=0)
    variance = share * (1 - share)
    chi_square = sum(
        (y - share * m) ** 2 / (m * variance) for y, m in zip(plants, dropped, strict=True)
    )
    return pearson_dispersion(chi_square, len(plants) - 1)


def _binomial_std(share: float, seeds: float, dispersion: Dispersion) -> float:
    inner = min(max(share, 0.5 / seeds), 1 - 0.5 / seeds) if seeds > 1 else 0.5
    return sqrt(dispersion.factor * inner * (1 - inner) / seeds)


def _capped(ends: tuple[float, float], share: float) -> tuple[float, float]:
    """No more than all can come up; a share above 1 is shown as it is, for it needs an answer."""
    return ends if share > 1 else (ends[0], min(1.0, ends[1]))


def with_emergence(crops: Sequence[Crop], found: Mapping[tuple[str, str], Measured]) -> list[Crop]:
    """The crops with field emergence as last found in the field for that crop and lot.

    ``found`` maps (crop, lot) in small letters; a crop's entry without lot serves all its lots.

    >>> (beet,) = with_emergence(
    ...     [Crop(name="Beet", plants_per_m=20)], {("beet", ""): Measured(0.8)}
    ... )
    >>> beet.seeds_wanted_per_m.value
    25.0
    """
    out = []
    for crop in crops:
        name = crop.name.casefold()
        share = found.get((name, crop.seed_lot.casefold())) or found.get((name, ""))
        out.append(replace(crop, field_emergence=share) if share else crop)
    return out
