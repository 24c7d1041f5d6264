"""The season's figures in docs/season.md, from simulated seasons (truth: our simulator).

Whole seasons through files, readers and estimator are in `season_whole`.

python -m tests.benchmarks.season beds [--seasons 20]    beds right, at the level of fixes
python -m tests.benchmarks.season seeders [--seasons 20] beds right where two seeders share a block
python -m tests.benchmarks.season quiet [--seasons 20]   false alarms of quiet seasons
python -m tests.benchmarks.season change [--seasons 1500] false alarms of a comparison alone
python -m tests.benchmarks.season chart [--seasons 2000] false alarms of the chart alone
python -m tests.benchmarks.season store                  rollback journal against WAL
python -m tests.benchmarks.season map                    2,000 passes: size and time to open

With `--write docs/season.md` the first three put their tables into the page.
"""

from __future__ import annotations

import argparse
import sqlite3
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from contextlib import closing
from dataclasses import replace
from math import exp
from pathlib import Path

import numpy as np

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent), str(HERE.parent / "season")]

from days import BEDS_20, halves, laid_right, sown_day  # noqa: E402
from page import markdown_table, write_between  # noqa: E402
from stated import Stated, alarm_table  # noqa: E402

from groundtruth.beds import lay_out  # noqa: E402
from groundtruth.core.measured import Measured  # noqa: E402
from groundtruth.season.comparison import (  # noqa: E402
    RunFigure,
    UnitRun,
    control_chart,
    difference,
    units_over_season,
)


def beds(seasons: int, first_seed: int = 0) -> dict[str, str]:
    """One block, four days: two as usual, one with a bed sown twice, one with a bed left out."""
    stated = Stated()
    rows = []
    for slant in (0.0, 1.5, 3.5):
        for named in (False, True):
            tally: dict[str, list[list[bool]]] = {"usual": [], "double": [], "skip": []}
            for seed in range(first_seed, first_seed + seasons):
                for kind, right, said in _block_season(seed, slant, named):
                    stated.take_in(said, right)
                    tally[kind].append(right)
            cells = [
                f"{sum(map(sum, days))} of {sum(map(len, days))} ({sum(map(all, days))} of "
                f"{len(days)})"
                for days in tally.values()
            ]
            rows.append([f"{slant:g} m", "odd days" if named else "none", *cells])
    head = "each bed longer by", "beds named", "usual: passes (days)", "double", "skip"
    table = markdown_table(head, rows)
    print(table)
    stated.show()
    return {"beds table": table, "certainty table": stated.table()}


def seeders(seasons: int, first_seed: int = 1000) -> dict[str, str]:
    """One block of twenty beds, six days, of which each of two seeders sows a half."""
    rows = []
    for growth_m in (0.0, 1.5, 3.5):
        cells = []
        for named in (False, True):
            right = sum(
                laid_right(*halves(seed, named=named, growth_m=growth_m))
                for seed in range(first_seed, first_seed + seasons)
            )
            cells.append(f"{right} of {120 * seasons}")
        rows.append([f"{growth_m:g} m", *cells])
        print(*rows[-1])
    headings = ["each bed longer by", "seeders not named", "named"]
    return {"seeders table": markdown_table(headings, rows)}


def _block_season(
    seed: int, slant: float, named: bool
) -> list[tuple[str, list[bool], Sequence[float]]]:
    rng = np.random.default_rng(seed)
    double, skip = int(rng.integers(1, 19)), int(rng.integers(2, 18))
    plan = [
        ("usual", BEDS_20),
        ("usual", BEDS_20[::-1]),
        ("double", [*BEDS_20[:double], double - 1, *BEDS_20[double:]]),
        ("skip", [b for b in BEDS_20 if b != skip]),
    ]
    runs = {}
    for d, (kind, sown) in enumerate(plan):
        names = [f"A{b + 1}" for b in sown] if named and kind != "usual" else None
        lengths = [70 + slant * b for b in BEDS_20]
        runs[f"d{d}"] = sown_day(rng, sown, day=10 * d, run=f"d{d}", names=names, lengths_m=lengths)
    layout = lay_out(runs)
    base = min(min(f.beds) for f in layout.assignments["d0"])
    return [
        (kind, [j - base == b for j, b in zip(fit.beds, sown, strict=True)], fit.sure)
        for d, (kind, sown) in enumerate(plan)
        for fit in layout.assignments[f"d{d}"]
        if len(fit.beds) == len(sown)  # else a pass lay farther from the block than its link
    ]


def _quiet_runs(rng: np.random.Generator, count: int, day: float = 0.007) -> list[RunFigure]:
    """Figures of runs as docs/accuracy.md finds them: u of 0.4 to 0.9 %, days 0.7 % apart."""
    found = []
    for i in range(count):
        u = rng.uniform(0.004, 0.009)
        value = 0.65 * exp(rng.normal(0, day) + rng.normal(0, u))
        found.append(
            RunFigure(
                name=f"r{i}",
                day=f"{2027 + i // 360}-{1 + i % 360 // 30:02d}-{1 + i % 30:02d}",
                ground_per_turn=Measured(value, value * u),
                passes=20,
                phase=0,
            )
        )
    return found


def quiet(seasons: int, first_seed: int = 7000) -> dict[str, str]:
    """Quiet seasons, beds at the level of positions and figures at the level of results."""
    alarms: Counter[str] = Counter()
    for seed in range(first_seed, first_seed + seasons):
        rng = np.random.default_rng(seed)
        runs = {
            f"{block}-{d}": sown_day(
                rng, BEDS_20 if d % 2 else BEDS_20[::-1], day=3 * (3 * d + block),
                run=f"{block}-{d}", block_at=(120.0 * block, 0.0),
            )
            for d in range(4)
            for block in range(3)
        }  # fmt: skip
        layout = lay_out(runs)
        for kind in {o.kind for o in layout.anomalies}:
            alarms[f"bed {kind}"] += 1
        figures = _quiet_runs(rng, 12)
        chart = control_chart(figures)
        alarms["chart"] += any(p.out or p.drift for p in chart.points)
        halves = [replace(f, phase=int(i >= 6)) for i, f in enumerate(figures)]
        alarms["before and after"] += difference(halves, lambda r: str(r.phase), "0", "1").shown
        units = [
            UnitRun(
                day=f.day,
                unit=str(u),
                turns_against_others=Measured(exp(rng.normal(0, 0.003)), 0.003),
                passes=20,
                lags=False,
            )
            for f in figures
            for u in range(4)
        ]
        alarms["row unit"] += any(u.lags for u in units_over_season(units))
    table = alarm_table(alarms, seasons)
    print(table)
    return {"quiet table": table}


def change(seasons: int) -> None:
    """Share of quiet seasons in which a comparison of two groups of runs speaks."""
    for day in (0.002, 0.007, 0.012, 0.02):
        rng = np.random.default_rng(31337)
        shares = []
        for first, second in ((6, 6), (3, 5), (10, 2)):
            spoke = 0
            for _ in range(seasons):
                runs = _quiet_runs(rng, first + second, day)
                sides = [replace(r, phase=int(i >= first)) for i, r in enumerate(runs)]
                spoke += difference(sides, lambda r: str(r.phase), "0", "1").shown
            shares.append(f"{first} and {second} runs {spoke / seasons:.1%}")
        print(f"days {day:.1%} apart: {', '.join(shares)}")


def chart(seasons: int) -> None:
    """Share of quiet seasons in which the chart speaks at all."""
    rng = np.random.default_rng(1)
    for count in (8, 12, 20, 40):
        spoke = sum(
            any(p.out or p.drift for p in control_chart(_quiet_runs(rng, count)).points)
            for _ in range(seasons)
        )
        print(f"{count} runs: {spoke / seasons:.1%} of quiet seasons")


def store() -> None:
    """Fifty commits of a small row by one process, and by four at once."""
    import os

    for mode in ("DELETE", "WAL"):
        with tempfile.TemporaryDirectory() as place:
            path = Path(place) / "x.db"
            with closing(sqlite3.connect(path, isolation_level=None)) as db:
                db.execute(f"PRAGMA journal_mode = {mode}")
                db.execute("CREATE TABLE t (a BLOB)")

            def write(count: int, path: Path = path) -> None:
                with closing(sqlite3.connect(path, timeout=60, isolation_level=None)) as db:
                    db.execute("PRAGMA synchronous = FULL")
                    for _ in range(count):
                        db.execute("BEGIN IMMEDIATE")
                        db.execute("INSERT INTO t VALUES (zeroblob(20000))")
                        db.execute("COMMIT")

            begin = time.perf_counter()
            write(50)
            alone = time.perf_counter() - begin
            begin = time.perf_counter()
            children = []
            for _ in range(4):
                child = os.fork()
                if child == 0:
                    write(50)
                    os._exit(0)
                children.append(child)
            for child in children:
                os.waitpid(child, 0)
            print(
                f"{mode}: {alone / 50 * 1000:.1f} ms a commit, four at once "
                f"{(time.perf_counter() - begin) / 200 * 1000:.1f} ms"
            )


def season_map() -> None:
    """Size of the page of 2,000 passes and how long headless Chromium takes to open it."""
    import shutil

    from playwright.sync_api import sync_playwright
    from test_seasonmap import made_season

    from groundtruth.views.map.season_page import season_map_of

    begin = time.perf_counter()
    text = season_map_of(made_season(2000), "metric")
    print(f"made in {time.perf_counter() - begin:.2f} s, {len(text.encode()) / 1e6:.2f} MB")
    with tempfile.TemporaryDirectory() as place, sync_playwright() as playwright:
        file = Path(place) / "season.html"
        file.write_text(text, encoding="utf-8")
        chromium = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox", "--disable-gpu"]
        )
        for _ in range(3):
            page = chromium.new_page(viewport={"width": 1366, "height": 768})
            begin = time.perf_counter()
            page.goto(file.as_uri())
            page.wait_for_selector("body.ready")
            page.evaluate("() => new Promise(done => requestAnimationFrame(() => done()))")
            print(f"open and painted after {time.perf_counter() - begin:.2f} s")
        chromium.close()


def main() -> None:
    """Run the part that is named."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])  # type: ignore[union-attr]
    parser.add_argument(
        "part", choices=("beds", "seeders", "quiet", "change", "chart", "store", "map")
    )
    parser.add_argument("--seasons", type=int, default=20)
    parser.add_argument("--first-seed", type=int, help="seeds count up from here")
    parser.add_argument("--write", type=Path, help="put the tables between the markers of a page")
    args = parser.parse_args()
    if args.part in ("beds", "seeders", "quiet"):
        seed = {} if args.first_seed is None else {"first_seed": args.first_seed}
        tables = {"beds": beds, "seeders": seeders, "quiet": quiet}[args.part](args.seasons, **seed)
        for name, table in tables.items() if args.write else ():
            write_between(args.write, table, name)
    elif args.part in ("change", "chart"):
        {"change": change, "chart": chart}[args.part](args.seasons)
    else:
        {"store": store, "map": season_map}[args.part]()


if __name__ == "__main__":
    main()
