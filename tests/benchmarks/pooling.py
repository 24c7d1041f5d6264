"""Coverage of the pooled figure, false alarms and finds of a lagging unit (truth: our simulator).

    python -m tests.benchmarks.pooling [--days 1000] [--write docs/formulas.md]

First: coverage (%) of the 95 % interval of the pooled ground per turn by number of passes (lines)
and by the true spread between passes (columns, %), one row unit, u(D)/D 1.7 % with a correlation
of 0.2 between passes; the last column draws the spread from the prior. Then, for several row units,
how often a quiet day names a unit (%), and how often a unit that turns 5 % too little is named and
no other (%).
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np

from groundtruth.core.assumptions import SPREAD_PRIOR
from groundtruth.core.measured import Measured
from groundtruth.core.uncertainty import UncertaintySource
from groundtruth.measurement.slip import PassCount, Pooled, pool_run
from groundtruth.stats.random_effects import PRIOR_DEGREES_OF_FREEDOM

from .page import markdown_table, write_between

GROUND_M, TURNS = 0.71, 150
SPREADS = (0.0, 0.01, 0.03)


def simulated(
    rng: np.random.Generator,
    passes: int,
    units: int,
    spread: float,
    scatter: float,
    drag: float = 0.0,
) -> Pooled:
    """One day: counts of whole turns with a random phase, distances with correlated errors."""
    length_m = TURNS * GROUND_M
    covariance = (0.017 * length_m) ** 2 * (0.8 * np.eye(passes) + 0.2)
    distances = length_m + np.linalg.cholesky(covariance) @ rng.normal(size=passes)
    counts = []
    for p in range(passes):
        on_pass = length_m / GROUND_M * np.exp(-spread * rng.normal())
        for u in range(units):
            turns = on_pass * np.exp(scatter * rng.normal()) * (1 - drag * (u == 1))
            counted = float(np.floor(turns + rng.random()))
            counts.append(
                PassCount(pass_index=p, unit=str(u + 1), gear_turns=Measured(counted, 1 / 6**0.5))
            )
    return pool_run(distances, {UncertaintySource.POSITION: covariance}, counts)


def coverage(passes: int, spread: float | None, days: int) -> float:
    """Share of days whose interval holds the truth; None draws the spread from the prior. [%]"""
    rng = np.random.default_rng([passes, int(1000 * (spread if spread is not None else 1))])
    hits = 0
    for _ in range(days):
        drawn = SPREAD_PRIOR * abs(rng.standard_t(PRIOR_DEGREES_OF_FREEDOM))
        day = simulated(rng, passes, 1, drawn if spread is None else spread, 0.0)
        low, high = day.ground_per_turn_95
        hits += low <= GROUND_M <= high
    return 100 * hits / days


def units_row(passes: int, units: int, scatter: float, days: int) -> list[str]:
    """How often a quiet day names a unit and how often one that turns 5 % too little is named."""
    rng = np.random.default_rng([passes, units, int(1000 * scatter)])
    alarms = found = 0
    for _ in range(days):
        quiet = simulated(rng, passes, units, 0.01, scatter)
        alarms += any(u.lags for u in quiet.units)
        drags = simulated(rng, passes, units, 0.01, scatter, drag=0.05)
        found += [u.lags for u in drags.units] == [u == 1 for u in range(units)]
    shares = (100 * n / days for n in (alarms, found))
    return [str(passes), str(units), f"{100 * scatter:.1f}", *(f"{s:.1f}" for s in shares)]


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--days", type=int, default=1000)
    parser.add_argument("--write", type=Path, help="put the tables between the markers of a page")
    args = parser.parse_args()
    pooled = markdown_table(
        ("passes", *(f"{100 * s:.1f} %" for s in SPREADS), "prior"),
        [
            [n, *(f"{coverage(n, s, args.days):.1f}" for s in (*SPREADS, None))]
            for n in (1, 2, 4, 10)
        ],
    )
    units = markdown_table(
        ("passes", "row units", "scatter %", "false alarms %", "found %"),
        [
            units_row(passes, units, scatter, args.days)
            for passes, units in ((2, 4), (5, 4))
            for scatter in (0.005, 0.015)
        ],
    )
    print(f"{args.days} seeded days a figure\n\n{pooled}\n\n{units}")
    if args.write:
        write_between(args.write, pooled, "pooling table")
        write_between(args.write, units, "row unit table")


if __name__ == "__main__":
    main()
