"""Confidence limits of counts and shares, with the dispersion that repeats show."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

LEAST_DEGREES_OF_FREEDOM = 2
"""Repeats below which a dispersion is no estimate: with one, t is 12.7 and says nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Dispersion:
    """Variance of counts over that of the Poisson or binomial law, and what it was estimated from.

    ``degrees_of_freedom`` is 0 where the factor is assumed to be 1.
    """

    factor: float
    degrees_of_freedom: int

    @property
    def assumed(self) -> bool:
        """Whether too few counts were repeated to estimate it."""
        return self.degrees_of_freedom == 0


def pearson_dispersion(chi_square: float, degrees_of_freedom: int) -> Dispersion:
    """The dispersion by Pearson's statistic over its degrees of freedom, X²/ν.

    McCullagh & Nelder 1989, *Generalized Linear Models*, 2nd ed., 4.5.2 and 6.2.1, from memory.
    1, and assumed, with fewer than ``LEAST_DEGREES_OF_FREEDOM``; never below 0.01, for counts that
    agree by luck must not promise that the next will.

    >>> pearson_dispersion(9.0, 6)
    Dispersion(factor=1.5, degrees_of_freedom=6)
    """
    if degrees_of_freedom < LEAST_DEGREES_OF_FREEDOM:
        return Dispersion(factor=1.0, degrees_of_freedom=0)
    factor = max(chi_square / degrees_of_freedom, 0.01)
    return Dispersion(factor=factor, degrees_of_freedom=degrees_of_freedom)


def coverage_factor(degrees_of_freedom: float, level: float = 0.95) -> float:
    """Student's t for a two-sided interval [JCGM 100:2008, G.3.2 and table G.2].

    >>> round(coverage_factor(10), 2)
    2.23
    """
    from scipy.special import stdtrit

    return float(stdtrit(degrees_of_freedom, 0.5 + level / 2))


def binomial_limits(hits: int, trials: int, level: float = 0.95) -> tuple[float, float]:
    """Exact limits of a share from one count (Clopper & Pearson 1934, Biometrika 26:404).

    >>> [round(end, 4) for end in binomial_limits(15, 148)]
    [0.0578, 0.1617]

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


def score_limits(hits: int, trials: float, dispersion: Dispersion) -> tuple[float, float]:
    """Wilson's 95 % limits of a share with t²·φ for z² (Wilson 1927, Journal of the American
    Statistical Association 22:209), φ an estimated dispersion and t with its degrees of freedom.

    >>> known = Dispersion(factor=1.0, degrees_of_freedom=10**9)
    >>> [round(end, 4) for end in score_limits(15, 148, known)]
    [0.0624, 0.1605]
    """
    t = coverage_factor(dispersion.degrees_of_freedom)
    q, share = t * t * dispersion.factor / trials, hits / trials
    middle = (share + q / 2) / (1 + q)
    reach = sqrt(q * share * (1 - share) + q * q / 4) / (1 + q)
    return max(0.0, middle - reach), min(1.0, middle + reach)


def poisson_limits(events: float, level: float = 0.95) -> tuple[float, float]:
    """Exact limits of a Poisson mean from one count (Garwood 1936, Biometrika 28:437).

    Lower χ²(α/2, 2n)/2, upper χ²(1 − α/2, 2n + 2)/2; 0 for the lower limit of no events.

    >>> [round(end, 2) for end in poisson_limits(10)]
    [4.8, 18.39]
    """
    from scipy.special import chdtri

    tail = (1 - level) / 2
    lower = float(chdtri(2 * events, 1 - tail)) / 2 if events > 0 else 0.0
    return lower, float(chdtri(2 * events + 2, tail)) / 2


def count_limits(events: float, dispersion: Dispersion, level: float = 0.95) -> tuple[float, float]:
    """Limits of the mean behind a total count, exact for an assumed Poisson count.

    With an estimated dispersion the values m that (n − m)² ≤ t²·φ·m leaves (score interval,
    Wilson 1927, Journal of the American Statistical Association 22:209), t with φ's degrees of
    freedom.

    >>> [round(end, 1) for end in count_limits(600, Dispersion(factor=1.5, degrees_of_freedom=6))]
    [530.9, 678.0]
    """
    if dispersion.assumed:
        return poisson_limits(events, level)
    t = coverage_factor(dispersion.degrees_of_freedom, level)
    half = t * t * dispersion.factor / 2
    reach = sqrt(half * (half + 2 * events))
    return max(0.0, events + half - reach), events + half + reach
