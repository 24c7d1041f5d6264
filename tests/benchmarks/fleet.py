"""Coverage of what a fleet's model and its prior say, on fleets that are drawn here.

    python -m tests.benchmarks.fleet model|prior [--count N] [--write docs/fleet.md]

model: the share of fleets whose 95 % intervals hold the true mean, the true effect of wet soil and
that of the speed, in %: farms differ by 2 %, seeders by 3 %, days by 1.5 %, each run is measured to
0.5 to 3 %. Seeds 7000 on; nothing was tuned on them.

prior: a fleet of 300 seeders with a run of three to eight passes each teaches a prior, by the
program's own pooling; then other runs are measured with it. Of ten machines nine are off by 2 %
(standard deviation), one by 10 %; the spread between passes is 0.65 % on an ordinary day; each
distance is known to 1.8 %. By number of passes: rms of the actual error; half-widths and coverage
of the 95 % interval with the fixed prior, with the fleet's spread, and with its machines too, the
last for all runs and for machines off by more than 5 %; beside it the coverage that the plain
posterior of one normal distribution of machines has for those. Seeds 8000 on; the threshold of
dropping was chosen on other draws.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np

from groundtruth.core.assumptions import SPREAD_PRIOR
from groundtruth.core.fleet_prior import FleetPrior
from groundtruth.core.measured import Measured
from groundtruth.core.uncertainty import UncertaintySource
from groundtruth.fleet.prior import machine_prior, spread_scale
from groundtruth.measurement.prior_figure import with_fleet
from groundtruth.measurement.slip import PassCount, Pooled, pool_run
from groundtruth.stats.nested_effects import NestedEffects, fit_nested_effects

from .page import markdown_table, write_between

FIRST_SEED, IN_USE_M = 7000, 0.6
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


def prior_lines(runs: int) -> list[list[object]]:
    """A line for each number of passes."""
    rng = np.random.default_rng(8000)
    taught = [_measured(rng, int(rng.integers(3, 9)), SPREAD_PRIOR) for _ in range(300)]
    spreads = [one.spread for _, one in taught]
    grounds = [one.ground_per_turn for _, one in taught]
    machines = machine_prior(
        np.log([g.value / IN_USE_M for g in grounds]), np.array([g.relative**2 for g in grounds])
    )
    means = [s.value / g.value for s, g in zip(spreads, grounds, strict=True)]
    stds = [s.std / g.value for s, g in zip(spreads, grounds, strict=True)]
    scale = spread_scale(np.array(means), np.array(stds))
    prior = FleetPrior(spread_scale=scale, machines=machines)
    print(f"taught: {prior}\n")
    return [_prior_line(passes, runs, prior) for passes in (1, 2, 4, 8)]


def _measured(rng: np.random.Generator, passes: int, scale: float) -> tuple[float, Pooled]:
    """The true log ratio of a machine, and its run as it is pooled."""
    truth = rng.normal(0, 0.10 if rng.random() < 0.1 else 0.02)
    return truth, _pooled(rng, truth, passes, scale)


def _pooled(rng: np.random.Generator, truth: float, passes: int, scale: float) -> Pooled:
    length_m, spread = 100.0, 0.0065 * np.exp(0.4 * rng.normal())
    covariance = (0.018 * length_m) ** 2 * (0.8 * np.eye(passes) + 0.2)
    distances = length_m + np.linalg.cholesky(covariance) @ rng.normal(size=passes)
    counts = []
    for p in range(passes):
        turns = length_m / (IN_USE_M * np.exp(truth + spread * rng.normal()))
        counted = Measured(float(np.floor(turns + rng.random())), 1 / 6**0.5)
        counts.append(PassCount(pass_index=p, unit="1", gear_turns=counted))
    return pool_run(distances, {UncertaintySource.POSITION: covariance}, counts, spread_prior=scale)


def _prior_line(passes: int, runs: int, prior: FleetPrior) -> list[object]:
    error, odd, halves, hits = [], [], [], []
    for seed in range(runs):
        fixed_truth, fixed = _measured(np.random.default_rng([8001, passes, seed]), passes, 0.02)
        truth, own = _measured(
            np.random.default_rng([8001, passes, seed]), passes, prior.spread_scale
        )
        assert truth == fixed_truth
        fleet = with_fleet(own, IN_USE_M, prior)
        true_m = IN_USE_M * np.exp(truth)
        ends = [fixed.ground_per_turn_95, own.ground_per_turn_95, fleet.ground_per_turn_95,
                _plain_normal(own)]  # fmt: skip
        error.append(own.ground_per_turn.value / true_m - 1)
        odd.append(abs(np.expm1(truth)) > 0.05)
        halves.append([(high - low) / 2 / true_m for low, high in ends])
        hits.append([low <= true_m <= high for low, high in ends])
    far, half, hit = np.array(odd), np.array(halves), np.array(hits)
    width, all_runs, odd_runs = (100 * part.mean(axis=0) for part in (half, hit, hit[far]))
    return [
        passes,
        f"{100 * np.sqrt(np.mean(np.square(error))):.1f}",
        *(f"{width[k]:.1f} / {all_runs[k]:.1f}" for k in (0, 1, 2)),
        f"{odd_runs[1]:.1f}",
        f"{odd_runs[2]:.1f}",
        f"{odd_runs[3]:.1f}",
        int(far.sum()),
    ]


def _plain_normal(own: Pooled) -> tuple[float, float]:
    """The posterior's interval under one normal distribution of the machines drawn here."""
    figure, prior_variance = own.log_ground.moments(), 0.9 * 0.02**2 + 0.1 * 0.1**2
    share = prior_variance / (prior_variance + figure.std**2)
    mean = np.log(IN_USE_M) + share * (figure.value - np.log(IN_USE_M))
    reach = 1.96 * share**0.5 * figure.std
    return float(np.exp(mean - reach)), float(np.exp(mean + reach))


def model_table(fleets: int) -> str:
    """Coverage of the coefficients by the size of the fleet."""
    lines = [[name, *(f"{c:.1f}" for c in coverage(farms, fleets))] for name, farms in SIZES]
    return markdown_table(("fleet", "mean", "wet soil", "speed"), lines)


def prior_table(runs: int) -> str:
    """Half-widths and coverage by the number of passes."""
    head = ("passes", "error, rms %", "fixed prior: ± % / covers %", "fleet's spread: ± / covers",
            "and machines: ± / covers", "odd machines: spread", "odd: and machines",
            "odd: one normal", "odd runs")  # fmt: skip
    return markdown_table(head, prior_lines(runs))


def main() -> None:
    """Print the table that is asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("what", choices=("model", "prior"))
    parser.add_argument("--count", type=int, default=1000, help="fleets, or runs, of a line")
    parser.add_argument("--write", type=Path, help="put the table between the markers of a page")
    args = parser.parse_args()
    table = (model_table if args.what == "model" else prior_table)(args.count)
    print(table)
    if args.write:
        write_between(args.write, table, f"fleet {args.what}")


if __name__ == "__main__":
    main()
