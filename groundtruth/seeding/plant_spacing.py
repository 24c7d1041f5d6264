"""How evenly plants or seeds stand along the row, by the indices of ISO 7256-1.

With the theoretical spacing x: multiples are spacings up to 0.5 x, misses those above 1.5 x, what
lies between is single; the precision is the standard deviation of the singles over x (ISO
7256-1:1984, through Kachman & Smith 1995, Transactions of the ASAE 38:379, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite
from statistics import fmean, stdev

from ..core.errors import InputError
from ..stats.intervals import binomial_limits

PRACTICAL_LIMIT_OF_PRECISION = 0.29
"""Singles spread evenly from 0.5 x to 1.5 x would have 1/√12 = 28.9 %: no seeder that places seeds
at all comes out higher (Kachman & Smith 1995, from memory)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SpacingIndices:
    """Shares of all spacings, with exact 95 % limits, and the precision of the singles.

    ``precision`` is None with fewer than two singles.
    """

    spacings: int
    theoretical_m: float
    multiples: float
    multiples_95: tuple[float, float]
    quality_of_feed: float
    quality_of_feed_95: tuple[float, float]
    misses: float
    misses_95: tuple[float, float]
    precision: float | None
    mean_m: float


def spacing_indices(spacings_m: Sequence[float], theoretical_m: float) -> SpacingIndices:
    """The indices of a list of spacings between neighbours along the row (m).

    >>> found = spacing_indices([0.04, 0.05, 0.06, 0.12, 0.01], 0.05)
    >>> found.multiples, found.quality_of_feed, found.misses, round(found.precision, 2)
    (0.2, 0.6, 0.2, 0.2)

    Raises
    ------
    InputError : no spacing, one below 0, or a theoretical spacing that is not above 0.
    """
    if not (theoretical_m > 0 and isfinite(theoretical_m)):
        raise InputError(f"the spacing aimed at is {theoretical_m:g} m; it must be above 0")
    if not spacings_m:
        raise InputError("no spacings; measure from each plant to the next")
    bad = next((s for s in spacings_m if not (s >= 0 and isfinite(s))), None)
    if bad is not None:
        raise InputError(f"a spacing is {bad:g} m; it cannot be below 0")
    n = len(spacings_m)
    # A tape is read to the millimetre: a spacing on a bound counts as on it, not by the last bit.
    near, far = 0.5 * theoretical_m * (1 + 1e-9), 1.5 * theoretical_m * (1 + 1e-9)
    multiples = sum(s <= near for s in spacings_m)
    misses = sum(s > far for s in spacings_m)
    singles = [s for s in spacings_m if near < s <= far]
    return SpacingIndices(
        spacings=n,
        theoretical_m=theoretical_m,
        multiples=multiples / n,
        multiples_95=binomial_limits(multiples, n),
        quality_of_feed=len(singles) / n,
        quality_of_feed_95=binomial_limits(len(singles), n),
        misses=misses / n,
        misses_95=binomial_limits(misses, n),
        precision=stdev(singles) / theoretical_m if len(singles) > 1 else None,
        mean_m=fmean(spacings_m),
    )
