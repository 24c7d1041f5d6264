"""Time and memory of the estimate of a day, by kind of phone and by the number of passes.

    python -m tests.benchmarks.effort [--beside FOLDER] [--scenario NAME ...] [--days 4]
        [--repeats 3] [--many 60 480] [--fixes 400]

The same days (our simulator, ends given, 20 passes) are estimated by this code and, with
``--beside``, by the package in another folder, a checkout of an earlier state: in turns, each run
in a process of its own, CPU time of the fastest of the repeats. Memory is the greatest resident
set of a process that estimates one day of so many passes, as `resource.getrusage` gives it.
"""

from __future__ import annotations

import argparse
import json
import os
import pickle
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

import numpy as np

from groundtruth.simulation import SCENARIOS

from .cases import cases_of

PASSES = 20
CHILD = """
import json, pickle, resource, sys, time
import numpy as np
from groundtruth.estimator import ground_covered, make_stretch
days = pickle.load(open(sys.argv[1], "rb"))
numbers = np.arange(4.0)
ground_covered([make_stretch(numbers, numbers, numbers, numbers, start_s=0.5, end_s=2.5)])
took = []
for day in days:
    begin = time.process_time()
    ground_covered([make_stretch(*fixes, **rest) for fixes, rest in day])
    took.append(time.process_time() - begin)
print(json.dumps([took, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024]))
"""
SCENARIOS_SHOWN = ("ordinary phone", "bad phone", "doppler", "gaps", "mid-pass stop", "high rate")
Day = list[tuple[tuple[Any, ...], dict[str, Any]]]


def simulated_day(scenario: str, seed: int) -> Day:
    """The fixes of every pass, and their marks and stops."""
    _, cases = cases_of(scenario, seed, passes=PASSES)
    return [
        (
            (c.time_s, c.east_m, c.north_m, c.speed_m_s),
            {"stops": c.stops, "start_s": c.start_s, "end_s": c.end_s, "wheel": c.wheel},
        )
        for c in cases
    ]


def long_day(passes: int, fixes: int) -> Day:
    """Passes of a metre a second back and forth, with a random walk for the error."""
    rng, time, nothing = np.random.default_rng(4), np.arange(float(fixes)), np.full(fixes, np.nan)
    day: Day = []
    for k in range(passes):
        east, north = np.cumsum(rng.normal(0, 0.05, (2, fixes)), axis=1)
        begin_s = 1e9 + (fixes + 50) * k
        marks = {"start_s": begin_s + 3, "end_s": begin_s + fixes - 4}
        day.append(((begin_s + time, east, north + (-1) ** k * time, nothing), marks))
    return day


def run(days: list[Day], package: Path, folder: Path) -> tuple[list[float], float]:
    """CPU seconds of each day and the greatest resident set in MB, by the package in a folder."""
    file = folder / "days"
    file.write_bytes(pickle.dumps(days))
    one_thread = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
    command = [sys.executable, "-c", CHILD, str(file)]
    environment = {**os.environ, **one_thread, "PYTHONPATH": str(package.resolve())}
    out = subprocess.run(
        command, env=environment, cwd=package, check=True, capture_output=True, text=True
    )
    took, peak = json.loads(out.stdout)
    return took, peak


def main() -> None:
    """Print one line a scenario, then one line a number of passes."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--beside", type=Path, help="folder with another state of the package")
    parser.add_argument("--scenario", nargs="*", default=SCENARIOS_SHOWN, choices=list(SCENARIOS))
    parser.add_argument("--days", type=int, default=4, help="days a scenario")
    parser.add_argument("--seed0", type=int, default=90_001, help="seed of the first day")
    parser.add_argument("--repeats", type=int, default=3)
    parser.add_argument(
        "--many", type=int, nargs="*", default=[60, 480], help="passes of long days"
    )
    parser.add_argument("--fixes", type=int, default=400, help="fixes of each of their passes")
    args = parser.parse_args()
    packages = [*([args.beside] if args.beside else []), Path(__file__).parents[2]]
    names = ["beside", "this"][-len(packages) :]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        print(f"{'':20s}fixes a pass" + "".join(f"{'ms a pass, ' + n:>18s}" for n in names))
        for scenario in args.scenario:
            days = [simulated_day(scenario, args.seed0 + k) for k in range(args.days)]
            passes = sum(map(len, days))
            fixes = sum(len(f[0]) for day in days for f, _ in day) / passes
            times = np.array(
                [[run(days, p, folder)[0] for p in packages] for _ in range(args.repeats)]
            )
            best = times.min(axis=0).sum(axis=1) * 1e3 / passes
            print(f"{scenario:20s}{fixes:12.0f}" + "".join(f"{ms:18.1f}" for ms in best))
        print(f"{'':20s}{'':12s}" + "".join(f"{'s and MB, ' + n:>18s}" for n in names))
        for many in args.many:
            day = [long_day(many, args.fixes)]
            found = [run(day, p, folder) for p in packages]
            cells = "".join(f"{f'{sum(took):.1f}  {peak:.0f}':>18s}" for took, peak in found)
            print(f"{many:4d} passes{'':10s}{args.fixes:11d}{cells}")


if __name__ == "__main__":
    main()
