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

from ..errors import InputError
from ..measured import Measured

LEAST_TURNS, MOST_TURNS, MOST_SEEDS = 0.01, 100_000, 100_000_000
"""Bounds of a catch that somebody made; beyond them a slip of the pen is certain."""

LEAST_DEGREES_OF_FREEDOM = 2
"""Repeats below which a dispersion is no estimate: with one, t is 12.7 and says nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchCount:
    """One catch: seeds caught in ``turns`` gear turns at one setting.

    ``seeds`` carries the error of this catch's weighing, 0 where seeds were counted;
    ``shared_relative`` is a relative standard uncertainty that all catches share (seeds per gram).
    ``line`` is the line in the sheet, ``turns_per_minute`` how fast the gear was turned.

    Raises
    ------
    InputError : turns are not above 0, or seeds are below 0.
    """

    crop: str
    seed_lot: str
    setting: str
    turns: float
    seeds: Measured
    shared_relative: float = 0.0
    turns_per_minute: float | None = None
    line: int = 0

    def __post_init__(self) -> None:
        if not self.turns > 0:
            raise InputError(f"turns is {self.turns:g}; a catch needs more than 0")
        if not LEAST_TURNS <= self.turns <= MOST_TURNS:
            raise InputError(
                f"turns is {self.turns:g}; a catch has {LEAST_TURNS:g} to {MOST_TURNS:,.0f}"
            )
        if not self.seeds.value >= 0:
            raise InputError(f"seeds is {self.seeds.value:g}; a catch cannot hold less than 0")
        if self.seeds.value > MOST_SEEDS:
            raise InputError(f"seeds is {self.seeds.value:g}; a catch holds {MOST_SEEDS:,} at most")
        if not self.setting:
            raise InputError("setting is empty; write what the seeder was set to")


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


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingFigure:
    """Seeds per gear turn at one setting, from all its catches."""

    setting: str
    catches: int
    turns: float
    seeds: float
    seeds_per_turn: Measured
    seeds_per_turn_95: tuple[float, float]


def weighed_seeds(
    mass_kg: float, mass_std_kg: float, seeds_per_kg: Measured
) -> tuple[Measured, float]:
    """Seeds in a weighed catch with the scale's error, and the relative error of seeds per mass.

    The second is shared by all catches weighed with that figure and does not average out.
    """
    seeds = Measured(mass_kg, mass_std_kg).scaled(seeds_per_kg.value)
    return seeds, seeds_per_kg.relative


def dispersion_of(counts: Sequence[BenchCount]) -> Dispersion:
    """Pearson's estimate over all settings, Σ(n − λt)²/(λt) / (catches − settings). [-]

    1 and "assumed" with fewer than ``LEAST_DEGREES_OF_FREEDOM`` repeats.
    """
    statistic, free = 0.0, 0
    for setting in dict.fromkeys(c.setting for c in counts):
        catches = [c for c in counts if c.setting == setting]
        rate = sum(c.seeds.value for c in catches) / sum(c.turns for c in catches)
        if rate > 0:
            statistic += (
                sum((c.seeds.value - rate * c.turns) ** 2 / c.turns for c in catches) / rate
            )
            free += len(catches) - 1
    if free < LEAST_DEGREES_OF_FREEDOM:
        return Dispersion(factor=1.0, degrees_of_freedom=0)
    # Catches that agree to the seed by luck must not promise a seeder without any scatter.
    return Dispersion(factor=max(statistic / free, 0.01), degrees_of_freedom=free)


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


def setting_figure(
    counts: Sequence[BenchCount], dispersion: Dispersion, level: float = 0.95
) -> SettingFigure:
    """Seeds per turn at the one setting of ``counts``, with its interval.

    The errors of weighing and of seeds per gram are added in quadrature to both sides.
    """
    turns = sum(c.turns for c in counts)
    seeds = sum(c.seeds.value for c in counts)
    low, high = count_limits(seeds, dispersion, level)
    shared = max(c.shared_relative for c in counts) * seeds
    # With repeats the scatter of the catches already holds the scale's error.
    weighing = sum(c.seeds.std**2 for c in counts) if dispersion.assumed else 0.0
    added = shared**2 + weighing
    std = sqrt(dispersion.factor * max(seeds, 1.0) + added)
    widening = 1.96**2 * added
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
