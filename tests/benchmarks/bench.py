"""How well bench figures, acceptance ranges and the power calculation hold (truth: our simulator).

    python -m tests.benchmarks.bench [--benches 1000] [--write docs/bench.md]

One line for each way that seeds may fall (dispersion: variance over mean of a catch; 1 is each
seed by itself), three catches of six turns a setting: coverage of the 95 % interval of seeds per
turn from the counts and from the setting curve (%), its half-width over the figure (%), how often a
new count from the same seeder falls outside the acceptance range and how often that is stated to
happen (%); the turns asked for to tell 20 from 22.5 seeds a turn, and how often they do so (%).
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

from .page import markdown_table, write_between

RATES = {"1": 15.0, "2": 21.0, "3": 28.0, "4": 37.0}
ASKED = "2"
TURNS_OF_CHECK = 6
CATCHES, TURNS = 3, 6.0  # catches a setting, turns a catch
DISPERSIONS = (0.25, 1.0, 3.0)


def bench_cells(dispersion: float, benches: int) -> list[str]:
    """Interval and acceptance range with one way of falling."""
    rng = np.random.default_rng([int(100 * dispersion), CATCHES, int(TURNS)])
    index, truth = list(RATES).index(ASKED), RATES[ASKED]
    counted = curved = outside = 0
    width = stated = 0.0
    for _ in range(benches):
        counts = simulated_bench(rng, RATES, dispersion=dispersion, turns=TURNS, catches=CATCHES)
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
    return [f"{s:.1f}" for s in shares]


def power_cells(dispersion: float, trials: int) -> list[str]:
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
    return [str(4 + more), f"{100 * found / trials:.1f}"]


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--benches", type=int, default=1000)
    parser.add_argument("--write", type=Path, help="put the tables between the markers of a page")
    args = parser.parse_args()
    text = markdown_table(
        (
            "dispersion", "counts: in 95 %", "curve: in 95 %", "width ± %", "outside range %",
            "stated %", "turns to tell apart", "told apart %",
        ),
        [
            [f"{d:.2f}", *bench_cells(d, args.benches), *power_cells(d, 4 * args.benches)]
            for d in DISPERSIONS
        ],
    )  # fmt: skip
    print(f"{args.benches} seeded benches a line; settings {RATES}, asked for {ASKED}\n\n{text}")
    if args.write:
        write_between(args.write, text, "bench table")


if __name__ == "__main__":
    main()
