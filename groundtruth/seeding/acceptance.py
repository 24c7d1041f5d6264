"""What a new count at the bench should be, and how many turns tell two settings apart."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import ceil, inf, sqrt
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from ..stats.intervals import Dispersion
from .bench_figures import SettingFigure

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class AcceptanceRange:
    """A count of ``turns`` turns is fine from ``low`` to ``high``, ends included.

    ``false_alarm`` is the chance that a seeder set right falls outside, uncertainty of the bench
    figures included.
    """

    turns: int
    expected: float
    low: int
    high: int
    false_alarm: float


class _Count:
    """The number of seeds in so many turns, by draws (n,) of seeds per turn and dispersion.

    Normal of mean λ·turns and variance φ·λ·turns with a continuity correction, mixed over the
    draws.
    """

    def __init__(self, rate_draws: Array, dispersion_draws: Array, turns: int) -> None:
        self.mean = rate_draws * turns
        self.std = np.sqrt(dispersion_draws * np.maximum(self.mean, 0.5))

    def at_most(self, seeds: int) -> float:
        """Probability of a count up to ``seeds``. [-]"""
        from scipy.special import ndtr

        if seeds < 0:
            return 0.0
        return float(ndtr((seeds + 0.5 - self.mean) / self.std).mean())


def acceptance_range(
    rate_draws: Array, dispersion_draws: Array, turns: int, *, false_alarm: float = 0.05
) -> AcceptanceRange:
    """Whole seeds between which a new count falls unless something is wrong.

    ``rate_draws`` and ``dispersion_draws`` (n,) are draws of what the bench leaves possible. Each
    end is put where the chance beyond it comes nearest to half of ``false_alarm``.

    Five turns of exactly 25 seeds each, falling like a Poisson count:

    >>> accepted = acceptance_range(np.full(10, 25.0), np.ones(10), turns=5)
    >>> accepted.expected, accepted.low, accepted.high, round(accepted.false_alarm, 3)
    (125.0, 104, 146, 0.054)
    """
    count = _Count(rate_draws, dispersion_draws, turns)
    low = _nearest(count.at_most, false_alarm / 2) + 1
    high = max(low, _nearest(count.at_most, 1 - false_alarm / 2))
    return AcceptanceRange(
        turns=turns,
        expected=float(count.mean.mean()),
        low=low,
        high=high,
        false_alarm=count.at_most(low - 1) + 1 - count.at_most(high),
    )


def chance_inside(accepted: AcceptanceRange, rate_draws: Array, dispersion_draws: Array) -> float:
    """Chance that a seeder at another setting, by its draws, passes the check all the same. [-]"""
    count = _Count(rate_draws, dispersion_draws, accepted.turns)
    return count.at_most(accepted.high) - count.at_most(accepted.low - 1)


def _nearest(at_most: Callable[[int], float], wanted: float) -> int:
    """The whole number, from −1, at which a rising probability comes nearest to ``wanted``."""
    low, high = -1, 16
    while at_most(high) < wanted:
        high *= 2
    while high - low > 1:
        middle = (low + high) // 2
        if at_most(middle) < wanted:
            low = middle
        else:
            high = middle
    return min((low, high), key=lambda n: abs(at_most(n) - wanted))


def turns_for_count(rate: float, *, seeds_wanted: float = 120.0, most: int = 20) -> int:
    """Whole turns for a check at the bench: enough seeds to say something, few enough to count.

    At least 5; more until about ``seeds_wanted`` are expected; at most ``most``. Our choice.

    >>> turns_for_count(8.0)
    15
    """
    return max(5, min(most, ceil(seeds_wanted / max(rate, 1e-9))))


def more_turns_to_tell_apart(
    one: SettingFigure,
    other: SettingFigure,
    dispersion: Dispersion,
    *,
    error: float = 0.05,
    power: float = 0.9,
) -> int | None:
    """Turns still to be caught at each of two settings before a test tells them apart.

    The two-sided test of equal seeds per turn at level ``error`` finds a difference as large as
    the counts now show with probability ``power``: |λ₁ − λ₂| = (z_α/2 + z_β)·√(φ(λ₁/T₁ + λ₂/T₂))
    (Armitage, Berry & Matthews 2002, *Statistical Methods in Medical Research*, 4th ed., 18.2,
    from memory). 0 where the turns made suffice; None where the counts show no difference.

    >>> from groundtruth import Measured
    >>> one, other = (
    ...     SettingFigure(
    ...         setting=name,
    ...         catches=1,
    ...         turns=6,
    ...         seeds=seeds,
    ...         seeds_per_turn=Measured(seeds / 6),
    ...         seeds_per_turn_95=(0.0, 100.0),
    ...     )
    ...     for name, seeds in (("9", 120), ("10", 135))
    ... )
    >>> more_turns_to_tell_apart(one, other, Dispersion(factor=1.0, degrees_of_freedom=0))
    66
    """
    rate_1, rate_2 = one.seeds_per_turn.value, other.seeds_per_turn.value
    difference = abs(rate_1 - rate_2)
    if difference == 0:
        return None
    normal = NormalDist()
    wanted = difference / (normal.inv_cdf(1 - error / 2) + normal.inv_cdf(power))

    def reached(more: float) -> bool:
        variance = rate_1 / (one.turns + more) + rate_2 / (other.turns + more)
        return sqrt(dispersion.factor * variance) <= wanted

    if reached(0):
        return 0
    enough = dispersion.factor * (rate_1 + rate_2) / wanted**2
    if enough == inf or enough > 1e6:
        return None
    low, high = 0, ceil(enough)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if reached(middle) else (middle, high)
    return high
