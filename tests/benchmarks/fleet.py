"""Coverage of what a fleet's model says, on fleets that it draws itself.

    python -m tests.benchmarks.fleet [--fleets 200] [--write docs/fleet.md]

The share of fleets whose 95 % intervals hold the true mean, the true effect of wet soil and that
of the speed, in %: farms differ by 2 %, seeders by 3 %, days by 1.5 %, each run is measured to
0.5 to 3 %. Seeds 7000 on; nothing was tuned on them.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np

from groundtruth.stats.nested_effects import NestedEffects, fit_nested_effects

from .page import markdown_table, write_between

FIRST_SEED = 7000
TRUE = np.array([0.05, 0.03, 0.02])
"""Mean of the log ratio, effect of wet soil, effect of 1 m/s more."""
STDS = (0.02, 0.03, 0.015)
"""Between farms, the seeders of a farm, the days of a seeder."""
SIZES = (("8 farms", 8), ("20 farms", 20), ("60 farms", 60))


def a_fleet(rng: np.random.Generator, farms: int) -> NestedEffects:
    """The fit to one fleet of one to four seeders a farm, one to five days, one or two runs."""
    farm_of, seeder_of, day_of, wet, truth = [], [], [], [], []
    for farm in range(farms):
        farm_effect = rng.normal(0, STDS[0])
        for seeder in range(int(rng.integers(1, 5))):
            seeder_effect = rng.normal(0, STDS[1])
            for day in range(int(rng.integers(1, 6))):
                day_effect, wet_day = rng.normal(0, STDS[2]), float(rng.random() < 0.4)
                for _ in range(int(rng.integers(1, 3))):
                    farm_of.append(farm)
                    seeder_of.append(seeder)
                    day_of.append(day)
                    wet.append(wet_day)
                    truth.append(farm_effect + seeder_effect + day_effect)
    n = len(truth)
    std = rng.uniform(0.005, 0.03, n)
    design = np.column_stack([np.ones(n), wet, rng.uniform(-0.4, 0.4, n)])
    figures = design @ TRUE + np.array(truth) + rng.normal(size=n) * std
    levels = [np.array(one) for one in (farm_of, seeder_of, day_of)]
    return fit_nested_effects(figures, std**2, levels=levels, design=design)


def coverage(farms: int, fleets: int) -> np.ndarray:
    """Share of fleets whose interval holds the truth, by coefficient (3,). [%]"""
    hits = np.zeros(3)
    for seed in range(FIRST_SEED, FIRST_SEED + fleets):
        low, high = a_fleet(np.random.default_rng([seed, farms]), farms).interval().T
        hits += (low <= TRUE) & (high >= TRUE)
    return 100 * hits / fleets


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--fleets", type=int, default=200)
    parser.add_argument("--write", type=Path, help="put the table between the markers of a page")
    args = parser.parse_args()
    table = markdown_table(
        ("fleet", "mean", "wet soil", "speed"),
        [[name, *(f"{c:.1f}" for c in coverage(farms, args.fleets))] for name, farms in SIZES],
    )
    print(f"{args.fleets} seeded fleets a line\n\n{table}")
    if args.write:
        write_between(args.write, table, "fleet coverage")


if __name__ == "__main__":
    main()
