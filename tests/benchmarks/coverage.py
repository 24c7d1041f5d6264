"""Does the interval of a measured run hold? Simulated days through the whole path, truth beside.

    python -m tests.benchmarks.coverage --days 200

The truth is our own simulator's. Each day is read from its simulated track and turn sheet by
`groundtruth.measure`, pass finding and matching included. "as it came about" compares with the
ground of all measured passes over all their turns; "to come" with what endlessly many such passes
would give, which is the figure to use from now on.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from dataclasses import replace

os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

import groundtruth
from groundtruth.core.run import Run
from groundtruth.simulation import SCENARIOS, simulate_day


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--days", type=int, default=200)
    parser.add_argument("--passes", type=int, default=10, help="passes a day")
    parser.add_argument("--seed0", type=int, default=0)
    parser.add_argument("scenario", nargs="*", default=["ordinary phone"])
    args = parser.parse_args()
    print(f"{args.days} days of {args.passes} passes from seed {args.seed0}")
    print(
        f"{'scenario':26} {'failed':>6} {'bias %':>7} {'rmse %':>7} {'u %':>6}"
        f" {'came about: 95 %':>17} {'68 %':>5} {'to come: 95 %':>14} {'68 %':>5} {'s/day':>6}"
    )
    for name in args.scenario:
        report(name, args)


def report(name: str, args: argparse.Namespace) -> None:
    scenario = SCENARIOS[name]
    field = replace(scenario.field, passes=(args.passes, args.passes))
    scenario = replace(scenario, field=field)
    error, u, inside, centre, expected, failed = [], [], [], [], [], 0
    began = time.process_time()
    for seed in range(args.seed0, args.seed0 + args.days):
        day = simulate_day(scenario, seed)
        run = Run(name=name, track=day.track, turns=day.sheet, seeder=day.seeder)
        try:
            result = groundtruth.measure(run)
        except groundtruth.GroundtruthError as refused:
            failed += 1
            print(f"  seed {seed}: {refused}", file=sys.stderr)
            continue
        figure, (low, high) = result.ground_per_turn, result.ground_per_turn_95
        truth, to_come = day.ground_per_turn_m, day.expected_ground_per_turn_m
        error.append(figure.value / truth - 1)
        u.append(figure.std / truth)
        inside.append(low <= truth <= high)
        centre.append(abs(figure.value - truth) <= figure.std)
        expected.append((low <= to_come <= high, abs(figure.value - to_come) <= figure.std))
    took = (time.process_time() - began) / max(1, args.days)
    wide, narrow = np.mean(expected, axis=0) * 100
    print(
        f"{name:26} {failed:6d} {100 * np.mean(error):+7.3f}"
        f" {100 * np.sqrt(np.mean(np.square(error))):7.2f} {100 * np.mean(u):6.2f}"
        f" {100 * np.mean(inside):17.1f} {100 * np.mean(centre):5.1f} {wide:14.1f} {narrow:5.1f}"
        f" {took:6.2f}",
        flush=True,
    )


if __name__ == "__main__":
    main()
