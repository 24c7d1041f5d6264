"""Simulated benches and fields with known truth (ours): seeds fall evenly, by themselves, or clump.

A count with mean m and dispersion φ (variance over mean) is binomial below 1, Poisson at 1 and
negative binomial above, which are the usual models of even, independent and clumping events.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from groundtruth.core.measured import Measured
from groundtruth.seeding import BenchCount


def seeds_falling(rng: np.random.Generator, mean: float, dispersion: float) -> int:
    """One count of seeds."""
    if dispersion == 1:
        return int(rng.poisson(mean))
    if dispersion > 1:
        return int(rng.negative_binomial(mean / (dispersion - 1), 1 / dispersion))
    return int(rng.binomial(round(mean / (1 - dispersion)), 1 - dispersion))


def simulated_bench(
    rng: np.random.Generator,
    rates: Mapping[str, float],
    *,
    dispersion: float = 1.0,
    turns: float = 6.0,
    catches: int = 3,
) -> list[BenchCount]:
    """Catches at settings that drop ``rates`` seeds a turn."""
    return [
        BenchCount(
            crop="chard",
            seed_lot="",
            setting=setting,
            turns=turns,
            seeds=Measured(float(seeds_falling(rng, rate * turns, dispersion))),
        )
        for setting, rate in rates.items()
        for _ in range(catches)
    ]
