"""How far from the truth each method is, and whether intervals hold (truth: our simulator).

    python -m tests.benchmarks.accuracy [--scenario NAME ...] [--days 50] [--passes 20]
        [--alone 5] [--seed0 0] [--jobs 1] [--cache FILE.jsonl] [--write docs/accuracy.md]

Every day of a scenario draws its own phone, driving and field from its seed; seeds are fixed.
One line of the cache is one day, so that a long run can be made in pieces: days that the cache
holds are not run again. ``--alone`` is how many passes of each day are also measured by
themselves, as if nothing else had been recorded that day.
"""

from __future__ import annotations

import argparse
import json
import os
import time
import warnings
import zlib
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

# a second thread in the linear algebra would make the times meaningless
os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from groundtruth.core.errors import GroundtruthError
from groundtruth.simulation import SCENARIOS

from .bound import bound
from .cases import cases_of
from .methods import OTHERS, ours
from .page import write_between
from .tables import ALONE, BEST, DAY, report


def measure_day(job: tuple[str, int, int, int]) -> dict[str, Any]:
    """Every method on one day. ``job``: scenario, number of the day, passes a day, passes alone."""
    name, number, passes, alone = job
    seed = zlib.crc32(name.encode()) % 1_000_000 + number
    _, cases = cases_of(name, seed, passes=passes)
    record: dict[str, Any] = {
        "scenario": name,
        "day": number,
        "passes": passes,
        "alone": alone,
        "ground_m": [c.ground_m for c in cases],
        "fixes": [len(c.time_s) for c in cases],
        "methods": {},
    }

    def note(method: str, distance: Iterable[float], std: Iterable[float], seconds: float) -> None:
        record["methods"][method] = {
            "m": [round(float(d), 4) for d in distance],
            "u": [round(float(u), 4) for u in std],
            "ms": round(1e3 * seconds / len(cases), 3),
        }

    begin = time.process_time()
    best = bound(cases)
    note(BEST, best.mean_m, best.std_m, time.process_time() - begin)
    for method, call in OTHERS.items():
        begin = time.process_time()
        answers = [call(c) for c in cases]
        if not all(np.isnan(a[0]) for a in answers):
            note(method, *zip(*answers, strict=True), time.process_time() - begin)
    begin = time.process_time()
    chosen = np.linspace(0, len(cases) - 1, min(alone, len(cases))).round().astype(int)
    distance, std = np.full((2, len(cases)), np.nan)
    refused = []
    for k in chosen:
        try:
            d, covariance = ours([cases[k]])
        except GroundtruthError as refusal:
            refused.append(str(refusal))
        else:
            distance[k], std[k] = d[0], np.sqrt(covariance[0, 0])
    spent = (time.process_time() - begin) * len(cases) / max(len(chosen), 1)
    note(ALONE, distance, std, spent)
    if len(cases) > 1:
        begin = time.process_time()
        try:
            distance, covariance = ours(cases)
        except GroundtruthError as refusal:
            refused.append(str(refusal))
        else:
            note(DAY, distance, np.sqrt(np.diag(covariance)), time.process_time() - begin)
            error = distance - np.array(record["ground_m"])
            record["pooled"] = {
                str(k): [
                    [round(float(error[a : a + k].sum()), 4), round(float(u), 4)]
                    for a in range(0, len(cases) - k + 1, k)
                    for u in [np.sqrt(covariance[a : a + k, a : a + k].sum())]
                ]
                for k in (2, 4, 10, 20)
                if k <= len(cases)
            }
    record["refused"] = refused
    return record


def days(jobs: list[tuple[str, int, int, int]], workers: int) -> Iterator[dict[str, Any]]:
    """Run the jobs, one after the other or side by side, in order."""
    if workers <= 1:
        yield from map(measure_day, jobs)
    else:
        with ProcessPoolExecutor(workers) as pool:
            yield from pool.map(measure_day, jobs)


def main() -> None:
    """Run what is not in the cache yet, print the tables."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--scenario", nargs="*", default=list(SCENARIOS), choices=list(SCENARIOS))
    parser.add_argument("--days", type=int, default=50, help="days a scenario")
    parser.add_argument("--passes", type=int, default=20, help="passes a day")
    parser.add_argument("--alone", type=int, default=5, help="of them measured alone as well")
    parser.add_argument("--seed0", type=int, default=0, help="number of the first day")
    parser.add_argument("--jobs", type=int, default=1, help="processes side by side")
    parser.add_argument("--cache", type=Path, help="JSON lines to keep days in and take them from")
    parser.add_argument("--write", type=Path, help="put the tables between the markers of a page")
    args = parser.parse_args()
    warnings.simplefilter("error")
    wanted = [
        (name, day, args.passes, args.alone)
        for name in args.scenario
        for day in range(args.seed0, args.seed0 + args.days)
    ]
    records = {}
    if args.cache and args.cache.exists():
        for line in args.cache.read_text(encoding="utf-8").splitlines():
            record = json.loads(line)
            records[tuple(record[k] for k in ("scenario", "day", "passes", "alone"))] = record
    for record in days([job for job in wanted if job not in records], args.jobs):
        records[tuple(record[k] for k in ("scenario", "day", "passes", "alone"))] = record
        if args.cache:
            with args.cache.open("a", encoding="utf-8") as file:
                file.write(json.dumps(record) + "\n")
    text = report([records[job] for job in wanted])
    if args.write:
        write_between(args.write, text, "accuracy tables")
    print(text)


if __name__ == "__main__":
    main()
