"""Seeds per gear turn by setting, from seeds caught in counted turns at the bench.

A catch of t turns at a setting that drops λ seeds a turn holds λ·t seeds on average, with variance
φ·λ·t. φ = 1 would be a Poisson count; a hole that drops evenly has less, a seeder that clumps or
hesitates has more. φ is estimated over all settings of a crop and seed lot by Pearson's statistic
where catches were repeated (McCullagh & Nelder 1989, *Generalized Linear Models*, 2nd ed., 6.2.1,
from memory), and taken as 1, and said so, where they were not.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from ..core.counts import BenchCount
from ..core.measured import K95, Measured
from ..stats.intervals import Dispersion, count_limits, pearson_dispersion


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingFigure:
    """Seeds per gear turn at one setting, from all its catches."""

    setting: str
    catches: int
    turns: float
    seeds: float
    seeds_per_turn: Measured
    seeds_per_turn_95: tuple[float, float]


def dispersion_of(counts: Sequence[BenchCount]) -> Dispersion:
    """Pearson's estimate over all settings, Σ(n − λt)²/(λt) / (catches − settings). [-]

    1, and assumed, where too few catches were repeated.

    >>> catches = [
    ...     BenchCount(crop="beet", seed_lot="", setting="9", turns=6, seeds=Measured(seeds))
    ...     for seeds in (90, 112, 98)
    ... ]
    >>> round(dispersion_of(catches).factor, 2)
    1.24
    """
    chi_square, free = 0.0, 0
    for setting in dict.fromkeys(c.setting for c in counts):
        catches = [c for c in counts if c.setting == setting]
        rate = sum(c.seeds.value for c in catches) / sum(c.turns for c in catches)
        if rate > 0:
            chi_square += (
                sum((c.seeds.value - rate * c.turns) ** 2 / c.turns for c in catches) / rate
            )
            free += len(catches) - 1
    return pearson_dispersion(chi_square, free)


def setting_figure(
    counts: Sequence[BenchCount], dispersion: Dispersion, level: float = 0.95
) -> SettingFigure:
    """Seeds per turn at the one setting of ``counts``, with its interval.

    The errors of weighing and of seeds per gram are added in quadrature to both sides.

    >>> catch = BenchCount(crop="beet", seed_lot="", setting="9", turns=6, seeds=Measured(144))
    >>> figure = setting_figure([catch], dispersion_of([catch]))
    >>> figure.seeds_per_turn
    Measured(value=24.0, std=2.0)
    >>> [round(end, 1) for end in figure.seeds_per_turn_95]
    [20.2, 28.3]
    """
    turns = sum(c.turns for c in counts)
    seeds = sum(c.seeds.value for c in counts)
    low, high = count_limits(seeds, dispersion, level)
    shared = max(c.shared_relative for c in counts) * seeds
    # With repeats the scatter of the catches already holds the scale's error.
    weighing = sum(c.seeds.std**2 for c in counts) if dispersion.assumed else 0.0
    added = shared**2 + weighing
    std = sqrt(dispersion.factor * max(seeds, 1.0) + added)
    widening = K95**2 * added
    return SettingFigure(
        setting=counts[0].setting,
        catches=len(counts),
        turns=turns,
        seeds=seeds,
        seeds_per_turn=Measured(seeds / turns, std / turns),
        seeds_per_turn_95=(
            max(0.0, seeds - sqrt((seeds - low) ** 2 + widening)) / turns,
            (seeds + sqrt((high - seeds) ** 2 + widening)) / turns,
        ),
    )
