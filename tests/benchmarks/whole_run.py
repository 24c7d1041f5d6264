"""Time and memory of `groundtruth measure` as a whole, by the number of passes and of row units.

    python -m tests.benchmarks.whole_run [--shape 60x100 ...] [--write docs/robustness.md]

One recording of the simulator's ordinary phone, passes of 60 m (seed 9001), is read, its passes
found, estimated and pooled, and every output written, in a process of its own. Beside it what the
pooling of the counts takes of that.
"""

from __future__ import annotations

import argparse
import os
import re
import subprocess
import sys
import tempfile
from dataclasses import replace
from pathlib import Path

from groundtruth.simulation import SCENARIOS, simulate_day, write_run

from .page import markdown_table, write_between

CHILD = """
import resource, sys, time
from groundtruth.cli.main import main
import groundtruth.measurement.measure
from groundtruth.measurement import slip
took = 0.0
def timed(*args, **named):
    global took
    began = time.process_time()
    try:
        return slip_pool_run(*args, **named)
    finally:
        took += time.process_time() - began
slip_pool_run = slip.pool_run
for module in list(sys.modules.values()):
    if getattr(module, "pool_run", None) is slip_pool_run:
        module.pool_run = timed
began, cpu = time.perf_counter(), time.process_time()
code = main(["measure", sys.argv[1], "--out", sys.argv[2]])
print("spent", code, time.perf_counter() - began, time.process_time() - cpu, took,
      resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""


def row(passes: int, units: int, folder: Path) -> list[str]:
    """What measuring a day of that shape takes."""
    ordinary = SCENARIOS["ordinary phone"]
    field = replace(ordinary.field, lengths_m=(60.0,) * passes, drive_m=None, pauses=(0, 0))
    scenario = replace(ordinary, field=field, wheels=replace(ordinary.wheels, units=units))
    run = write_run(simulate_day(scenario, 9001), folder / f"{passes}x{units}")
    out = subprocess.run(
        [sys.executable, "-c", CHILD, str(run), str(folder / "out")],
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
        capture_output=True,
        text=True,
    )
    found = re.search(r"^spent 0 (\S+) (\S+) (\S+) (\S+)$", out.stdout, re.MULTILINE)
    if not found:
        raise SystemExit(f"{passes} x {units}: not measured\n{out.stdout}{out.stderr}")
    wall_s, cpu_s, pooling_s, most_mb = map(float, found.groups())
    cells = (f"{wall_s:.1f}", f"{cpu_s:.1f}", f"{pooling_s:.1f}", f"{most_mb:.0f}")
    return [f"{passes:,}", str(units), *cells]


def main() -> None:
    """Measure, print, and write into the page if asked."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--shape", nargs="+", default=["12x4", "60x4", "60x100", "1200x4"])
    parser.add_argument("--write", type=Path, metavar="PAGE")
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        rows = [row(*map(int, shape.split("x")), Path(place)) for shape in args.shape]
    head = ["passes", "row units", "s", "processor s", "of it pooling, s", "most memory, MB"]
    text = markdown_table(head, rows)
    print(text)
    if args.write:
        write_between(args.write, text, "whole run table")


if __name__ == "__main__":
    main()
