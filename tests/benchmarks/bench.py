"""How well bench figures, acceptance ranges and the power calculation hold (truth: our simulator).

    python -m tests.benchmarks.bench [--benches 1000]

One line for each way that seeds may fall (dispersion: variance over mean of a catch; 1 is each
seed by itself) and each plan at the bench: coverage of the 95 % interval of seeds per turn from the
counts and from the setting curve (%), its half-width over the figure (%), how often a new count
from the same seeder falls outside the acceptance range and how often that is stated to happen (%).
Then the turns asked for to tell two settings apart, and how often they do so (%).
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from benches import seeds_falling, simulated_bench

from groundtruth.seeding import (
    Dispersion,
    acceptance_range,
    more_turns_to_tell_apart,
    setting_curve,
    setting_figure,
)

RATES = {"1": 15.0, "2": 21.0, "3": 28.0, "4": 37.0}
ASKED = "2"
TURNS_OF_CHECK = 6
PLANS = ((3, 6.0), (4, 5.0), (5, 10.0))  # catches a setting, turns a catch
DISPERSIONS = (0.25, 0.5, 1.0, 2.0, 3.0)


def bench_line(dispersion: float, catches: int, turns: float, benches: int) -> str:
    """One plan with one way of falling."""
    rng = np.random.default_rng([int(100 * dispersion), catches, int(turns)])
    index, truth = list(RATES).index(ASKED), RATES[ASKED]
    counted = curved = outside = 0
    width = stated = 0.0
    for _ in range(benches):
        counts = simulated_bench(rng, RATES, dispersion=dispersion, turns=turns, catches=catches)
        curve = setting_curve(counts)
        figure = curve.tried[index]
        assert figure is not None
        low, high = figure.seeds_per_turn_95
        counted += low <= truth <= high
        width += (high - low) / 2 / truth
        low, high = curve.seeds_per_turn_95(index)
        curved += low <= truth <= high
        check = acceptance_range(curve.draws[:, index], curve.dispersion_draws, TURNS_OF_CHECK)
        count = seeds_falling(rng, truth * TURNS_OF_CHECK, dispersion)
        outside += not check.low <= count <= check.high
        stated += check.false_alarm
    shares = (100 * x / benches for x in (counted, curved, width, outside, stated))
    return f"{dispersion:10.2f} {catches:7d} {turns:5.0f} " + " ".join(f"{s:8.1f}" for s in shares)


def power_line(dispersion: float, trials: int) -> str:
    """The turns asked for to tell 20 from 22.5 seeds a turn, and how often they do."""
    from groundtruth.core.measured import Measured
    from groundtruth.seeding import BenchCount

    rng = np.random.default_rng([7, int(100 * dispersion)])
    spread = Dispersion(factor=dispersion, degrees_of_freedom=50)
    one, other = (
        setting_figure(
            [BenchCount(crop="", seed_lot="", setting=s, turns=4, seeds=Measured(4 * r))], spread
        )
        for s, r in (("1", 20.0), ("2", 22.5))
    )
    more = more_turns_to_tell_apart(one, other, spread)
    assert more is not None
    found = 0
    for _ in range(trials):
        a, b = (seeds_falling(rng, r * (4 + more), dispersion) for r in (20.0, 22.5))
        found += abs(a - b) > 1.96 * (dispersion * (a + b)) ** 0.5
    return f"{dispersion:10.2f} {4 + more:7d} {100 * found / trials:8.1f}"


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--benches", type=int, default=1000)
    args = parser.parse_args()
    print(f"{args.benches} seeded benches a line; settings {RATES}, asked for {ASKED}")
    print("dispersion catches turns  counted    curve  width ±  outside   stated")
    for dispersion in DISPERSIONS:
        for catches, turns in PLANS:
            print(bench_line(dispersion, catches, turns, args.benches), flush=True)
    print("\ntelling 20 from 22.5 seeds a turn at 5 %, wanted 90 %")
    print("dispersion   turns    found")
    for dispersion in DISPERSIONS:
        print(power_line(dispersion, 4 * args.benches))


if __name__ == "__main__":
    main()
