"""Confidence limits of counts and shares."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from .uncertainty import Combined


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Dispersion:
    """Variance over mean of a catch, and the repeats it was estimated from.

    ``degrees_of_freedom`` is 0 where the factor is assumed.
    """

    factor: float
    degrees_of_freedom: int

    @property
    def assumed(self) -> bool:
        """Whether too few catches were repeated to estimate it."""
        return self.degrees_of_freedom == 0


def poisson_limits(events: float, level: float = 0.95) -> tuple[float, float]:
    """Exact limits of a Poisson mean from one count (Garwood 1936, Biometrika 28:437).

    Lower χ²(α/2, 2n)/2, upper χ²(1 − α/2, 2n + 2)/2; 0 for the lower limit of no events.
    """
    from scipy.special import chdtri

    tail = (1 - level) / 2
    lower = float(chdtri(2 * events, 1 - tail)) / 2 if events > 0 else 0.0
    return lower, float(chdtri(2 * events + 2, tail)) / 2


def count_limits(seeds: float, dispersion: Dispersion, level: float = 0.95) -> tuple[float, float]:
    """Limits of the mean behind a total of seeds, exact for an assumed Poisson count.

    With an estimated dispersion the values m that (seeds − m)² ≤ t²·φ·m leaves (score interval,
    Wilson 1927, Journal of the American Statistical Association 22:209), t with φ's degrees of
    freedom.
    """
    if dispersion.assumed:
        return poisson_limits(seeds, level)
    from scipy.special import stdtrit

    t = float(stdtrit(dispersion.degrees_of_freedom, 0.5 + level / 2))
    half = t * t * dispersion.factor / 2
    reach = sqrt(half * (half + 2 * seeds))
    return max(0.0, seeds + half - reach), seeds + half + reach


def score_limits(hits: int, seeds: float, dispersion: Dispersion) -> tuple[float, float]:
    """Wilson's 95 % limits of a share with t²·φ for z² (Wilson 1927, Journal of the American
    Statistical Association 22:209), t with the degrees of freedom of the dispersion."""
    t = Combined(std=1.0, degrees_of_freedom=dispersion.degrees_of_freedom).coverage_factor()
    q, share = t * t * dispersion.factor / seeds, hits / seeds
    middle = (share + q / 2) / (1 + q)
    reach = sqrt(q * share * (1 - share) + q * q / 4) / (1 + q)
    return max(0.0, middle - reach), min(1.0, middle + reach)
