"""Two means with unlike spreads compared, and the smallest change that could be shown."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist, fmean, variance


@dataclass(frozen=True, slots=True, kw_only=True)
class WelchTest:
    """Mean of the second sample less that of the first, with its interval and p-value."""

    difference: float
    std: float
    degrees_of_freedom: float
    interval: tuple[float, float]
    p_value: float


def welch_test(first: Sequence[float], second: Sequence[float], level: float = 0.95) -> WelchTest:
    """Welch's test of two samples of independent values, as `scipy.stats.ttest_ind` has it.

    B. L. Welch 1947, Biometrika 34:28; the degrees of freedom are those of Satterthwaite, as in
    NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.3.

    >>> found = welch_test([1.0, 2.0, 3.0], [2.0, 4.0, 6.0])
    >>> found.difference, round(found.degrees_of_freedom, 2), round(found.p_value, 3)
    (2.0, 2.94, 0.221)

    Raises
    ------
    ValueError : a sample has fewer than two values, or neither has any spread.
    """
    if min(len(first), len(second)) < 2:
        raise ValueError("Welch's test needs two values or more on either side")
    squared_std = sum(variance(s) / len(s) for s in (first, second))
    if not squared_std > 0:
        raise ValueError("Welch's test needs a spread on one side at least")
    from scipy.stats import ttest_ind

    found = ttest_ind(second, first, equal_var=False)
    low, high = found.confidence_interval(level)
    return WelchTest(
        difference=fmean(second) - fmean(first),
        std=squared_std**0.5,
        degrees_of_freedom=float(found.df),
        interval=(float(low), float(high)),
        p_value=float(found.pvalue),
    )


def smallest_change(std: float, *, level: float = 0.95, power: float = 0.8) -> float:
    """The change that a difference of known standard uncertainty shows with chance ``power``.

    (z(1 − α/2) + z(power))·u, the sample-size rule of the NIST/SEMATECH e-Handbook, 7.2.2.2,
    solved for the change.

    >>> round(smallest_change(1.0), 3)
    2.802
    """
    return sum(NormalDist().inv_cdf(p) for p in (0.5 + level / 2, power)) * std
