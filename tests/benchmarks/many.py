"""What `groundtruth many` costs over plain measuring, and whether its memory grows with the runs.

    python -m tests.benchmarks.many [--runs 1000] [--workers 2] [--write docs/many.md]

The runs are days of the simulator's ordinary phone, of eight to twelve passes (seeds 9701 to 9708),
each under many names. Plain measuring is a bare loop over as many processes, each of which reads
its share and keeps nothing. Both are measured in one run, in the same processes' numbers; the
processor time is that of all processes, their start included.
"""

from __future__ import annotations

import argparse
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

import psutil

from groundtruth.simulation import SCENARIOS, simulate_day, write_run

from .page import markdown_table, write_between

SEEDS = range(9701, 9709)
PLAIN = """
import sys
from groundtruth.io import read_run
from groundtruth.io.result_json import result_to_dict
from groundtruth.measurement.measure import measure
for path in sys.stdin.read().splitlines():
    result_to_dict(measure(read_run(path)))
"""


@dataclass(slots=True)
class Spent:
    """Seconds on the wall and of the processors, and the most memory by kind of process, MB."""

    wall_s: float = 0.0
    cpu_s: float = 0.0
    memory_mb: dict[str, float] = field(default_factory=dict)


def made(folder: Path, count: int) -> list[Path]:
    """So many runs in a folder; the paths of their descriptions."""
    days = [
        write_run(simulate_day(SCENARIOS["ordinary phone"], seed), folder / ".days" / f"{seed}")
        for seed in SEEDS
    ]
    paths = []
    for number in range(count):
        day = days[number % len(days)]
        place = folder / f"{number:06d}"
        place.mkdir()
        for name in ("track.gpx", "turns.csv"):
            os.link(day.parent / name, place / name)
        text = day.read_text(encoding="utf-8")
        (place / "run.toml").write_text(f'name = "day {number}"\n{text}', encoding="utf-8")
        paths.append(place / "run.toml")
    shutil.rmtree(folder / ".days")
    return paths


def spent_by(commands: list[list[str]], given: list[str] | None = None) -> Spent:
    """What commands that run beside each other take, with their own processes."""
    before, began = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    running = [
        subprocess.Popen(words, stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, text=True)
        for words in commands
    ]
    spent = Spent()
    over = threading.Event()
    watch = threading.Thread(target=_watch, args=(running, spent, over))
    watch.start()
    for process, text in zip(running, given or [""] * len(running), strict=True):
        assert process.stdin is not None
        process.stdin.write(text)
        process.stdin.close()
    codes = [process.wait() for process in running]
    spent.wall_s = time.perf_counter() - began
    over.set()
    watch.join()
    if any(codes):
        raise SystemExit(f"a command ended with {codes}")
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    spent.cpu_s = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return spent


def _watch(running: list[subprocess.Popen[str]], spent: Spent, over: threading.Event) -> None:
    while not over.wait(0.5):
        for process in running:
            with suppress(psutil.Error):
                first = psutil.Process(process.pid)
                for kind, these in (("client", [first]), ("worker", first.children(True))):
                    most = max((p.memory_info().rss / 1e6 for p in these), default=0.0)
                    spent.memory_mb[kind] = max(spent.memory_mb.get(kind, 0.0), most)


def many(runs: Path, fleet: Path, workers: int) -> Spent:
    """`groundtruth many` to its end."""
    words = ["-m", "groundtruth", "many", str(runs), "--out", str(fleet)]
    return spent_by([[sys.executable, *words, "--workers", str(workers)]])


def measured(count: int, workers: int) -> str:
    """The table: plain measuring, a quarter of the runs, all of them, and a second start."""
    os.environ["OPENBLAS_NUM_THREADS"] = "1"
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        quarter, whole = folder / "quarter", folder / "whole"
        few = made(quarter, count // 4)
        all_of_them = made(whole, count)
        shares = [all_of_them[n::workers] for n in range(workers)]
        plain = spent_by(
            [[sys.executable, "-c", PLAIN]] * workers,
            ["\n".join(map(str, share)) for share in shares],
        )
        rows = [_row(f"plain, {count:,} runs", plain, plain)]
        for name, runs, fleet in (
            (f"many, {count:,} runs", whole, "a"),
            ("the same once more", whole, "a"),
            (f"many, {len(few):,} runs", quarter, "b"),
        ):
            spent = many(runs, folder / fleet, workers)
            rows.append(_row(name, spent, plain if fleet == "a" else None))
            print(rows[-1], flush=True)
    head = ["", "wall, s", "processors, s", "over plain", "client, MB", "a worker, MB"]
    return f"{workers} workers.\n\n{markdown_table(head, rows)}"


def _row(name: str, spent: Spent, plain: Spent | None) -> list[str]:
    over = f"{100 * (spent.cpu_s / plain.cpu_s - 1):+.0f} %" if plain else "–"
    client = spent.memory_mb.get("client", 0.0)
    worker = spent.memory_mb.get("worker", 0.0)
    if name.startswith("plain"):
        client, worker = 0.0, client
    sizes = [f"{one:.0f}" if one else "–" for one in (client, worker)]
    return [name, f"{spent.wall_s:.0f}", f"{spent.cpu_s:.0f}", over, *sizes]


def main() -> None:
    """Measure, print, and write into the page if asked."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=1000)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--write", type=Path, metavar="PAGE")
    args = parser.parse_args()
    text = measured(args.runs, args.workers)
    print(text)
    if args.write:
        write_between(args.write, text, "many table")


if __name__ == "__main__":
    main()
