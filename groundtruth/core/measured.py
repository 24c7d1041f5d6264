"""A value with its standard uncertainty, and the two rules of arithmetic that the tool needs.

Only for quantities whose errors are independent; errors that several figures share are carried
as covariance matrices.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, hypot, isfinite, log, sqrt
from statistics import NormalDist

K95 = 1.96
"""Coverage factor of 95 % for a normal distribution [JCGM 100:2008, table G.1]."""


@dataclass(frozen=True, slots=True)
class Measured:
    """A value and its standard uncertainty (one standard deviation), in the same unit.

    >>> length, turns = Measured(72.0, 0.3), Measured(90.0, 0.4)
    >>> ground_per_turn = length.per(turns)
    >>> f"{ground_per_turn.value:.3f} ± {ground_per_turn.std:.4f} m"
    '0.800 ± 0.0049 m'
    >>> [round(end, 3) for end in ground_per_turn.interval()]
    [0.79, 0.81]

    Raises
    ------
    ValueError : the value is not finite, or the uncertainty is negative or not finite.
    """

    value: float
    std: float = 0.0

    def __post_init__(self) -> None:
        if not isfinite(self.value):
            raise ValueError(f"a measured value must be finite, got {self.value}")
        if not (self.std >= 0 and isfinite(self.std)):
            raise ValueError(f"a standard uncertainty must be 0 or more, got {self.std}")

    @property
    def relative(self) -> float:
        """Relative standard uncertainty u/|value|. [-]"""
        return self.std / abs(self.value)

    def interval(self, level: float = 0.95) -> tuple[float, float]:
        """Two-sided normal interval that holds with probability ``level``.

        Expanded uncertainty k·u with k the normal quantile [JCGM 100:2008, G.1.3].
        """
        reach = NormalDist().inv_cdf(0.5 + level / 2) * self.std
        return self.value - reach, self.value + reach

    def times(self, other: Measured) -> Measured:
        """Product of two quantities with independent errors [JCGM 100:2008, 5.1.2]."""
        return Measured(
            self.value * other.value, hypot(self.value * other.std, other.value * self.std)
        )

    def per(self, other: Measured) -> Measured:
        """Quotient of two quantities with independent errors [JCGM 100:2008, 5.1.2].

        Raises
        ------
        ZeroDivisionError : ``other`` is 0.
        """
        quotient = self.value / other.value
        return Measured(quotient, hypot(self.std, quotient * other.std) / abs(other.value))

    def scaled(self, factor: float) -> Measured:
        """The quantity times an exactly known factor."""
        return Measured(self.value * factor, self.std * abs(factor))


def widened_interval(
    interval: tuple[float, float], value: float, relative_std: float
) -> tuple[float, float]:
    """95 % interval of a quantity above 0 after an independent factor of this uncertainty.

    The distance of either end from ``value`` and 1.96·u of the factor are added in quadrature on
    the scale of logarithms, where products are sums [JCGM 100:2008, 5.1.2]. An end at 0 stays.

    >>> low, high = widened_interval((0.9, 1.1), 1.0, 0.05)
    >>> round(low, 3), round(high, 3)
    (0.866, 1.146)
    """
    low, high = interval
    reach = K95 * relative_std
    if not reach:
        return interval
    if not value > 0:
        return low, high * exp(reach)
    if low > 0:
        low = value * exp(-hypot(log(value / low), reach))
    return low, value * exp(hypot(log(max(high / value, 1.0)), reach))


def rectangular_std(half_width: float) -> float:
    """Standard uncertainty of an even spread over ± ``half_width``, a/√3 [JCGM 100:2008, 4.3.7]."""
    return half_width / sqrt(3)


def triangular_std(half_width: float) -> float:
    """Standard uncertainty of a triangle over ± ``half_width``, a/√6 [JCGM 100:2008, 4.3.9]."""
    return half_width / sqrt(6)
