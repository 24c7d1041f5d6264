"""Welch's test of two means with unlike spreads, and the smallest change that could be shown.

B. L. Welch 1947, Biometrika 34:28; the degrees of freedom are those of Satterthwaite, as in
NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.3.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, isinf, sqrt
from statistics import NormalDist, fmean, variance


@dataclass(frozen=True, slots=True, kw_only=True)
class Welch:
    """Mean of the second sample less that of the first, with its 95 % interval and p-value."""

    difference: float
    std: float
    degrees_of_freedom: float
    interval: tuple[float, float]
    p_value: float


def welch(first: Sequence[float], second: Sequence[float], level: float = 0.95) -> Welch:
    """Welch's test of two samples of independent values.

    Raises
    ------
    ValueError : a sample has fewer than two values, or neither has any spread.
    """
    if min(len(first), len(second)) < 2:
        raise ValueError("Welch's test needs two values or more on either side")
    parts = [variance(s) / len(s) for s in (first, second)]
    total = sum(parts)
    if not total > 0:
        raise ValueError("Welch's test needs a spread on one side at least")
    free = total**2 / sum(p**2 / (len(s) - 1) for p, s in zip(parts, (first, second), strict=True))
    from scipy.special import stdtr, stdtrit

    difference, std = fmean(second) - fmean(first), sqrt(total)
    reach = float(stdtrit(free, 0.5 + level / 2)) * std
    return Welch(
        difference=difference,
        std=std,
        degrees_of_freedom=free,
        interval=(difference - reach, difference + reach),
        p_value=2 * float(stdtr(free, -abs(difference) / std)),
    )


def smallest_change(
    std: float, *, degrees_of_freedom: float = inf, level: float = 0.95, power: float = 0.8
) -> float:
    """The change that a difference with standard uncertainty ``std`` shows with chance ``power``.

    (t(1 − α/2) + t(power))·u; for known spreads the sample-size rule of the NIST/SEMATECH
    e-Handbook, 7.2.2.2, solved for the change.
    """
    ends = (0.5 + level / 2, power)
    if isinf(degrees_of_freedom):
        return sum(NormalDist().inv_cdf(p) for p in ends) * std
    from scipy.special import stdtrit

    return sum(float(stdtrit(degrees_of_freedom, p)) for p in ends) * std
