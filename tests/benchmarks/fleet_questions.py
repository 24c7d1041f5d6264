"""How long each question to a fleet takes, beside the same rows read and grouped by pandas.

    python -m tests.benchmarks.fleet_questions FOLDER [--passes 1000000] [--write docs/fleet.md]

FOLDER is made with invented figures where it is missing (made_fleet). Each question is asked
`--repeats` times in one process, opening the data set included; shown are the least wall-clock
time, which other work on the machine disturbs least, and the processor time of that call. The last
line is the table of cells of `slip` alone by pandas: read the columns, join, group.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory

from groundtruth.app import fleet as asked
from groundtruth.app.fleet import CellsRequest, HistoryRequest, SeedersRequest, VersionsRequest

from .made_fleet import write_fleet
from .page import markdown_table, write_between


def questions(folder: Path) -> dict[str, Callable[[], object]]:
    """Every question by the action that asks it."""
    return {
        "seeders": lambda: asked.seeders_for(SeedersRequest(fleet=folder)),
        "slip": lambda: asked.slip_for(folder),
        "phones": lambda: asked.phones_for(folder),
        "versions": lambda: asked.versions_for(VersionsRequest(before=folder, now=folder)),
        "history": lambda: asked.history_for(
            HistoryRequest(fleet=folder, seeder="farm 000005/seeder 0000010")
        ),
        "map": lambda: asked.cells_for(CellsRequest(fleet=folder)),
        "prior": lambda: asked.prior_for(folder),
        "cells of slip by pandas": lambda: by_pandas(folder),
    }


def by_pandas(folder: Path) -> object:
    """The table of cells of `slip` by another library."""
    import pandas as pd

    keys = ["soil_moisture", "soil_texture", "tyre", "pressure", "speed"]
    runs = pd.read_parquet(
        folder / "runs", columns=["run_key", *keys[:3], "tyre_pressure_pa", "farm"]
    )
    passes = pd.read_parquet(folder / "passes", columns=["run_key", "speed_m_s", "slip"])
    both = passes.merge(runs, on="run_key")
    both["pressure"] = both.tyre_pressure_pa // 25_000
    both["speed"] = both.speed_m_s // 0.25
    grouped = both.groupby(keys)
    return grouped.agg(
        slip=("slip", "mean"), spread=("slip", "std"), farms=("farm", "nunique"),
        runs=("run_key", "nunique"),
    )  # fmt: skip


def times_of(ask: Callable[[], object], repeats: int) -> tuple[float, float]:
    """Least wall-clock time, and the processor time of that call. [s]"""
    found = []
    for _ in range(repeats):
        wall, processor = time.perf_counter(), time.process_time()
        ask()
        found.append((time.perf_counter() - wall, time.process_time() - processor))
    return min(found)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path, nargs="?")
    parser.add_argument("--passes", type=int, default=1_000_000)
    parser.add_argument("--repeats", type=int, default=5)
    parser.add_argument("--write", type=Path, help="put the table between the markers of a page")
    args = parser.parse_args()
    with TemporaryDirectory() as spare:
        folder = args.folder or Path(spare) / "fleet"
        if not folder.exists():
            write_fleet(folder, passes=args.passes)
        lines = []
        for name, ask in questions(folder).items():
            wall, processor = times_of(ask, args.repeats)
            lines.append([name, f"{wall:.2f}", f"{processor:.2f}"])
    table = markdown_table(("question", "s", "processor s"), lines)
    print(table)
    if args.write:
        write_between(args.write, table, "fleet questions")


if __name__ == "__main__":
    main()
