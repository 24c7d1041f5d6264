"""What `groundtruth many` costs over plain measuring, and whether its memory grows with the runs.

    python -m tests.benchmarks.many [--runs 1000] [--passes 10] [--workers 2] [--write docs/many.md]

The runs are days of the simulator's ordinary phone, of so many passes of 60 m (seeds 9701 to 9708),
each under many names. Fewer passes make smaller runs, of which the overhead is a larger share.
Plain measuring is a bare loop in as many processes, each of which reads its share and keeps
nothing. The processor time is that of all processes, their start included.
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
from dataclasses import dataclass, replace
from dataclasses import field as dataclass_field
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
    memory_mb: dict[str, float] = dataclass_field(default_factory=dict)


def made(folder: Path, count: int, passes: int) -> list[Path]:
    """So many runs in a folder; the paths of their descriptions."""
    ordinary = SCENARIOS["ordinary phone"]
    field = replace(ordinary.field, lengths_m=(60.0,) * passes, drive_m=None, pauses=(0, 0))
    days = [
        write_run(simulate_day(replace(ordinary, field=field), seed), folder / ".days" / f"{seed}")
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


def measured(count: int, passes: int, workers: int) -> str:
    """The table: plain measuring, a quarter of the runs, all of them, and a second start."""
    os.environ["OPENBLAS_NUM_THREADS"] = "1"
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        quarter, whole = folder / "quarter", folder / "whole"
        few = len(made(quarter, count // 4, passes))
        paths = made(whole, count, passes)
        track_kb = sum((one.parent / "track.gpx").stat().st_size for one in paths) / count / 1e3
        shares = [paths[n::workers] for n in range(workers)]
        plain = spent_by(
            [[sys.executable, "-c", PLAIN]] * workers,
            ["\n".join(map(str, share)) for share in shares],
        )
        plain.memory_mb = {"worker": plain.memory_mb["client"]}
        all_of_them = many(whole, folder / "a", workers)
        again = many(whole, folder / "a", workers)
        some = many(quarter, folder / "b", workers)
    rows = [
        _row(f"plain, {count:,} runs", plain),
        _row(f"many, {count:,} runs", all_of_them),
        _row(f"many, {few:,} runs", some),
        _row(f"many, {count:,} runs, all done before", again),
    ]
    each_ms = 1000 * (all_of_them.cpu_s - some.cpu_s) / (count - few)
    plain_ms = 1000 * plain.cpu_s / count
    head = ["", "wall, s", "processors, s", "most of the command, MB", "most of a worker, MB"]
    return (
        f"{workers} workers, runs of {passes} passes, tracks of {track_kb:.0f} kB.\n\n"
        f"{markdown_table(head, rows)}\n\n"
        f"Overhead on {count:,} runs {100 * (all_of_them.cpu_s / plain.cpu_s - 1):+.0f} % of "
        f"processor time, {100 * (all_of_them.wall_s / plain.wall_s - 1):+.0f} % on the wall; "
        f"without the start {each_ms:.0f} ms a run for {plain_ms:.0f} ms."
    )


def _row(name: str, spent: Spent) -> list[str]:
    sizes = [spent.memory_mb.get(kind, 0.0) for kind in ("client", "worker")]
    shown = [f"{one:.0f}" if one else "–" for one in sizes]
    return [name, f"{spent.wall_s:.0f}", f"{spent.cpu_s:.0f}", *shown]


def main() -> None:
    """Measure, print, and write into the page if asked."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=1000)
    parser.add_argument("--passes", type=int, default=10)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--write", type=Path, metavar="PAGE")
    args = parser.parse_args()
    text = measured(args.runs, args.passes, args.workers)
    print(text)
    if args.write:
        write_between(args.write, text, f"many table, {args.passes} passes")


if __name__ == "__main__":
    main()
