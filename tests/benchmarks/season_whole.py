"""Whole simulated seasons through track files, readers and estimator, for docs/season.md.

python -m tests.benchmarks.season_whole eventful [--seasons 5] [--first-seed 1]
    the season of the walkthrough: beds, double, skip, tyre, wet days, lagging unit
python -m tests.benchmarks.season_whole quiet [--seasons 20] [--first-seed 1]
    seasons in which nothing happens: false alarms

With `--write docs/season.md` the tables go into the page.

The truth is our simulator's. Each season is measured once (about 15 s) and recorded twice.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent)]

from page import markdown_table, write_between  # noqa: E402
from stated import Stated, alarm_table  # noqa: E402

from groundtruth.core.result import Result  # noqa: E402
from groundtruth.io import read_run  # noqa: E402
from groundtruth.io.bed_map import read_beds  # noqa: E402
from groundtruth.measurement.measure import measure  # noqa: E402
from groundtruth.season import add_change, add_run, set_map  # noqa: E402
from groundtruth.season.comparison import (  # noqa: E402
    Covariate,
    control_chart,
    difference,
    units_over_season,
)
from groundtruth.season.query import Season, read_season  # noqa: E402
from groundtruth.simulation import QUIET, SeasonPlan, simulate_season, write_season  # noqa: E402

TYRE_DAY = date(2027, 6, 12)
TYRE = 0.03
"""The new tyre is so much more around."""


def recorded(
    plan: SeasonPlan, seed: int, ways: Sequence[str]
) -> tuple[list[Season], list[tuple[str, ...]]]:
    """The season recorded in each way, and the true beds of each day.

    A way is made of the words "names" (the sheet's names are kept) and "map" (the grower's map).
    """
    seasons = []
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        files = write_season(folder, plan=plan, seed=seed)
        results = [measure(read_run(file)) for file in files]
        beds = read_beds(folder / "beds.geojson")
        for way in ways:
            path = folder / f"{way.replace(' ', '-')}.gpkg"
            if "map" in way:
                set_map(path, beds)
            for number, result in enumerate(results):
                soil = "wet" if number in plan.wet_days else "dry"
                add_run(path, result if "names" in way else _unnamed(result), soil=soil)
            if plan.tyre_day is not None:
                add_change(path, day=TYRE_DAY, kind="tyre")
            seasons.append(read_season(path))
    return seasons, [day.names for day in simulate_season(plan, seed)]


def _unnamed(result: Result) -> Result:
    return replace(result, passes=tuple(replace(p, bed="") for p in result.passes))


def _right(season: Season, truth: Sequence[tuple[str, ...]]) -> tuple[list[bool], list[float]]:
    right, said = [], []
    for number, names in enumerate(truth):
        mine = sorted(
            (s for s in season.sowings if s.run == f"day-{number + 1:02d}"), key=lambda s: s.number
        )
        right += [s.bed == bed for s, bed in zip(mine, names, strict=True)]
        said += [s.sure for s in mine]
    return right, said


def eventful(seasons: int, first_seed: int) -> dict[str, str]:
    """Beds right and what was found, with and without names on the odd days."""
    plan, ways = SeasonPlan(), ("names map", "map")
    events = {("sown twice", "M13"), ("skipped", "L6")}
    stated = {way: Stated() for way in ways}
    total: dict[str, Counter[str]] = {way: Counter() for way in ways}
    for seed in range(first_seed, first_seed + seasons):
        found, truth = recorded(plan, seed, ways)
        for way, season in zip(ways, found, strict=True):
            right, said = _right(season, truth)
            stated[way].take_in(said, right)
            odd = {(o.kind, o.bed) for o in season.anomalies if o.kind != "unsure"}
            tally = total[way]
            tally["sowings"] += len(right)
            tally["beds right"] += sum(right)
            tally["double found on its bed"] += ("sown twice", "M13") in odd
            tally["skip found on its bed"] += ("skipped", "L6") in odd
            tally["other beds called sown twice or skipped"] += len(odd - events)
            shown = ", ".join(
                f"{o.kind} {o.bed} ({o.sure:.0%})" for o in season.anomalies if o.kind != "unsure"
            )
            print(f"seed {seed}, {way}: {sum(right)} of {len(right)} beds right; {shown}")
        _comparisons(found[0], total["names map"])
        sys.stdout.flush()
    named, unnamed = (total[way] for way in ways)
    of = {"beds right": named["sowings"], "other beds called sown twice or skipped": None}
    rows = []
    for name in named:
        if name != "sowings":
            out_of = of.get(name, seasons)
            after = "" if out_of is None else f" of {out_of}"
            rows.append(
                [
                    name,
                    f"{named[name]}{after}",
                    f"{unnamed[name]}{after}" if name in unnamed else "",
                ]
            )
    table = markdown_table(("", "beds named on the odd days", "no bed named"), rows)
    print(table)
    for way in ways:
        stated[way].show()
    return {"eventful table": table}


def _comparisons(season: Season, tally: Counter[str]) -> None:
    tyre = difference(season.runs, lambda r: str(r.phase), "0", "1", allow_for=[Covariate.SOIL])
    wet = difference(season.runs, lambda r: r.soil, "dry", "wet", allow_for=[Covariate.PHASE])
    for name, found in (("tyre", tyre), ("wet", wet)):
        low, high = found.relative_95
        print(
            f"  {name}: {found.relative.value:+.1%} ({low:+.1%} to {high:+.1%}), smallest change "
            f"{found.smallest:.1%}"
        )
    lagging = [u.unit for u in units_over_season(season.unit_runs) if u.lags]
    chart = control_chart(season.runs, usual_soil="dry")
    spoke = [p.run.name for p in chart.points if p.out or p.drift]
    print(f"  lags: {lagging}; chart speaks of {spoke}")
    tally["new tyre shown"] += tyre.shown and tyre.relative.value > 0
    tally["its 3.0 % in the 95 % interval"] += tyre.relative_95[0] <= TYRE <= tyre.relative_95[1]
    tally["wet days shown"] += wet.shown and wet.relative.value > 0
    tally["unit 4 named, and no other"] += lagging == ["4"]
    tally["a run called out by the chart"] += bool(spoke)


def quiet(seasons: int, first_seed: int) -> dict[str, str]:
    """False alarms of seasons in which nothing happens; no bed is named in the sheet."""
    ways = ("map", "bare")
    alarms: Counter[str] = Counter()
    stated = Stated()
    for seed in range(first_seed, first_seed + seasons):
        found, truth = recorded(QUIET, seed, ways)
        for way, season in zip(ways, found, strict=True):
            for kind in {o.kind for o in season.anomalies}:
                alarms[f"bed {kind}" + ("" if way == "map" else ", no map")] += 1
        right, said = _right(found[0], truth)
        stated.take_in(said, right)
        runs = found[0].runs
        chart = control_chart(runs)
        alarms["chart"] += any(p.out or p.drift for p in chart.points)
        halves = [replace(r, phase=int(i >= 6)) for i, r in enumerate(runs)]
        alarms["before and after"] += difference(halves, lambda r: str(r.phase), "0", "1").shown
        alarms["row unit"] += any(u.lags for u in units_over_season(found[0].unit_runs))
        print(f"seed {seed}: {sum(right)} of {len(right)} beds right; so far {dict(alarms)}")
        sys.stdout.flush()
    table = alarm_table(alarms, seasons)
    print(table)
    stated.show()
    return {"whole quiet table": table}


def main() -> None:
    """Run the part that is named."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])  # type: ignore[union-attr]
    parser.add_argument("part", choices=("eventful", "quiet"))
    parser.add_argument("--seasons", type=int, default=5)
    parser.add_argument("--first-seed", type=int, default=1)
    parser.add_argument("--write", type=Path, help="put the table between the markers of a page")
    args = parser.parse_args()
    tables = {"eventful": eventful, "quiet": quiet}[args.part](args.seasons, args.first_seed)
    for name, table in tables.items() if args.write else ():
        write_between(args.write, table, name)


if __name__ == "__main__":
    main()
