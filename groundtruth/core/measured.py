"""A value with its standard uncertainty, and the two rules of arithmetic that the tool needs.

Only for quantities whose errors are independent; errors that several figures share are carried
as covariance matrices by `travel` and `slip`.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, isfinite, sqrt
from statistics import NormalDist


@dataclass(frozen=True, slots=True)
class Measured:
    """A value and its standard uncertainty (one standard deviation), in the same unit.

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


def rectangular_std(half_width: float) -> float:
    """Standard uncertainty of an even spread over ± ``half_width``, a/√3 [JCGM 100:2008, 4.3.7]."""
    return half_width / sqrt(3)


def triangular_std(half_width: float) -> float:
    """Standard uncertainty of a triangle over ± ``half_width``, a/√6 [JCGM 100:2008, 4.3.9]."""
    return half_width / sqrt(6)
