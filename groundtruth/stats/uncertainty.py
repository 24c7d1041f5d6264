"""Combining uncertainties that were themselves estimated from few observations.

The law of propagation, the effective degrees of freedom and the expanded uncertainty of the
*Guide to the expression of uncertainty in measurement* (JCGM 100:2008).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, isinf, sqrt
from statistics import NormalDist


@dataclass(frozen=True, slots=True, kw_only=True)
class Contribution:
    """One input's part in a result: standard uncertainty, sensitivity, degrees of freedom.

    ``sensitivity`` is the derivative of the result by the input [JCGM 100:2008, 5.1.3].

    Raises
    ------
    ValueError : the uncertainty is below 0 or the degrees of freedom are not above 0.
    """

    std: float
    sensitivity: float = 1.0
    degrees_of_freedom: float = inf

    def __post_init__(self) -> None:
        if not self.std >= 0:
            raise ValueError(f"a standard uncertainty must be 0 or more, got {self.std}")
        if not self.degrees_of_freedom > 0:
            raise ValueError(f"degrees of freedom must be above 0, got {self.degrees_of_freedom}")

    @property
    def size(self) -> float:
        """|c·u|: what this input adds to the result's uncertainty, in the result's unit."""
        return abs(self.sensitivity) * self.std


@dataclass(frozen=True, slots=True, kw_only=True)
class Combined:
    """A combined standard uncertainty and its effective degrees of freedom."""

    std: float
    degrees_of_freedom: float

    def coverage_factor(self, level: float = 0.95) -> float:
        """The t factor for a two-sided interval [JCGM 100:2008, G.3.2, G.6.4]."""
        if isinf(self.degrees_of_freedom):
            return NormalDist().inv_cdf(0.5 + level / 2)
        from scipy.special import stdtrit

        return float(stdtrit(self.degrees_of_freedom, 0.5 + level / 2))

    def expanded(self, level: float = 0.95) -> float:
        """Half-width of the interval that holds with probability ``level``, k·u."""
        return self.coverage_factor(level) * self.std


def combine(contributions: Sequence[Contribution]) -> Combined:
    """u² = Σ(c·u)² of independent inputs, with Welch–Satterthwaite degrees of freedom.

    ν = u⁴ / Σ((c·u)⁴/ν_i) [JCGM 100:2008, 5.1.2 and equation G.2b].
    """
    variance = sum(c.size**2 for c in contributions)
    spread = sum(c.size**4 / c.degrees_of_freedom for c in contributions)
    return Combined(std=sqrt(variance), degrees_of_freedom=variance**2 / spread if spread else inf)


def degrees_of_freedom_of_judgement(relative_doubt: float) -> float:
    """Degrees of freedom of an uncertainty that is itself doubtful by a share, ½(Δu/u)⁻². [-]

    [JCGM 100:2008, equation G.3]

    Raises
    ------
    ValueError : the doubt is not above 0.
    """
    if not relative_doubt > 0:
        raise ValueError(f"the relative doubt must be above 0, got {relative_doubt}")
    return 0.5 / relative_doubt**2
