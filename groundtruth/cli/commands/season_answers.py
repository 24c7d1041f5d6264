"""What `groundtruth season` answers: what lies where, comparisons, the chart."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

from ...core.errors import InputError
from ...season import season_path

if TYPE_CHECKING:
    from ...core.run import UnitSystem
    from ...season.comparison import RunFigure
    from ...season.query import Season
    from ...views.tables.result import Table
    from ...views.terminal import Sentences


def _show(blocks: Sequence[Table | Sentences]) -> None:
    from rich.console import Console

    from ...views.terminal import print_blocks

    print_blocks(blocks, Console())


def _json(kind: str, body: dict[str, Any]) -> None:
    from ...views.json.seeding import as_text

    print(as_text(kind, body))


def _season(args: argparse.Namespace) -> tuple[Season, UnitSystem]:
    from ...season.query import read_season

    season = read_season(season_path(args.season))
    return season, args.units or season.units


def day_of(text: str, option: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise InputError(f"{option} {text!r} is no day; write it as 2027-06-08") from None


def _known(what: str, names: Sequence[str], wanted: str = "") -> str:
    """Names that could have been meant: those most alike, else the first few."""
    from difflib import get_close_matches

    every = list(dict.fromkeys(n for n in names if n))
    if not every:
        return f"the record names no {what.removesuffix('s')}"
    alike = get_close_matches(wanted.casefold(), [n.casefold() for n in every], n=4)
    near = [n for n in every if n.casefold() in alike] or every[:8]
    rest = len(every) - len(near)
    return f"{what} in the record: {', '.join(near)}" + (f" and {rest} more" if rest else "")


def do_show(args: argparse.Namespace) -> int:
    """What lies where."""
    from ...views.json.season import season_dict
    from ...views.tables import season as tables
    from ...views.terminal import Sentences

    season, units = _season(args)
    sowings = season.sowings
    if args.bed is not None:
        wanted = args.bed.strip().casefold()
        sowings = tuple(s for s in sowings if s.bed.casefold() == wanted)
        if not sowings:
            raise InputError(
                f"--bed {args.bed}: nothing was sown on such a bed; "
                + _known("beds", [s.bed for s in season.sowings], wanted)
            )
    if args.json:
        _json("season", season_dict(season, sowings))
        return 0
    if args.bed is not None:
        _show([tables.bed_table(sowings, units, f"Bed {sowings[0].bed}")])
        return 0
    blocks: list[Table | Sentences] = [
        Sentences(title="Season", sentences=tables.overview(season), strong=1)
    ]
    if season.runs:
        blocks += [tables.runs_table(season, units), tables.sown_table(season, units)]
    if args.all_beds and sowings:
        blocks.append(tables.bed_table(sowings, units, "Beds"))
    if season.oddities:
        said = tables.odd_sentences(season.oddities)
        blocks.append(Sentences(title="Look at this", sentences=said, warning=True))
    _show(blocks)
    return 0


def do_compare(args: argparse.Namespace) -> int:
    """One group of runs against another, or row units against each other."""
    from ...season.comparison import difference, units_over_season
    from ...views.json.season import difference_dict, units_dict
    from ...views.sentences.comparison import difference_sentences, unit_sentences
    from ...views.tables import season as tables
    from ...views.terminal import Sentences

    season, units = _season(args)
    if args.row_units:
        found = units_over_season(season.unit_runs)
        if not found:
            raise InputError("no run of the record has two row units to compare")
        if args.json:
            _json("row units", units_dict(found))
            return 0
        says = Sentences(title="Row units", sentences=unit_sentences(found), strong=1)
        _show([says, tables.units_table(found)])
        return 0
    chosen, group_of, first, second, allow_for = _sides(args, season)
    result = difference(chosen, group_of, first, second, allow_for=allow_for)
    if args.json:
        _json("comparison", difference_dict(result))
        return 0
    said = difference_sentences(result, units)
    if args.change is not None and not any(c.day == args.change for c in season.changes):
        said += (f"No change is recorded on {args.change}: groundtruth season change records one.",)
    _show([Sentences(title="Comparison", sentences=said, strong=1)])
    return 0


def _soil(run: RunFigure) -> str:
    return run.soil


def _phase(run: RunFigure) -> str:
    return str(run.phase)


def _sides(
    args: argparse.Namespace, season: Season
) -> tuple[list[RunFigure], Any, str, str, list[tuple[str, Any]]]:
    """Runs, the group of a run, the two labels, and what to allow for."""
    runs = list(season.runs)
    allow: list[tuple[str, Any]] = [("soil", _soil), ("changes of the seeder", _phase)]
    if args.change is not None:
        day = day_of(args.change, "--change").isoformat()
        # up to the neighbouring changes, so that only this one lies between the groups
        of = {c.seeder for c in season.changes if c.day == day and c.seeder}
        runs = [r for r in runs if not of or r.seeder in of]
        before = max((r.phase for r in runs if r.day < day), default=0)
        after = min((r.phase for r in runs if r.day >= day), default=0)
        near = [r for r in runs if r.phase == (before if r.day < day else after)]
        labels = f"before {day}", f"from {day} on"
        _both([labels[r.day >= day] for r in near], labels, _days(season))
        return near, lambda r: labels[r.day >= day], *labels, allow[:1]
    if args.soil is not None:
        first, second = (name.strip().casefold() for name in args.soil)
        _both([r.soil for r in runs], (first, second), _known("soils", [r.soil for r in runs]))
        return runs, _soil, first, second, allow[1:]
    if args.seeder is not None:
        names = [r.seeder for r in runs]
        _both(names, args.seeder, _known("seeders", names))
        return runs, lambda r: r.seeder, args.seeder[0], args.seeder[1], allow[:1]
    _both([r.day[:4] for r in runs], args.year, _days(season))
    return runs, lambda r: r.day[:4], args.year[0], args.year[1], allow


def _both(found: Sequence[str], wanted: Sequence[str], known: str) -> None:
    """Refuse a side of a comparison that has no run."""
    for name in wanted:
        if name not in found:
            raise InputError(f"no run to compare for {name!r}; {known}")
    if wanted[0] == wanted[1]:
        raise InputError(f"{wanted[0]!r} twice: name two that differ")


def _days(season: Season) -> str:
    days = sorted(r.day for r in season.runs)
    return f"runs in the record: {days[0]} to {days[-1]}" if days else "the record has no run"


def do_chart(args: argparse.Namespace) -> int:
    """The control chart."""
    from ...season.comparison import control_chart
    from ...views.json.season import chart_dict
    from ...views.sentences.comparison import chart_sentences
    from ...views.tables import season as tables
    from ...views.terminal import Sentences

    season, units = _season(args)
    runs = [r for r in season.runs if args.seeder is None or r.seeder == args.seeder]
    if not runs:
        raise InputError(
            "no run to chart; " + _known("seeders", [r.seeder for r in season.runs])
            if season.runs
            else "no run to chart; groundtruth season add records one"
        )
    soil = None if args.soil is None else args.soil.strip().casefold()
    if soil is not None and not any(r.soil == soil for r in runs):
        raise InputError(f"--soil {soil}: no such run; " + _known("soils", [r.soil for r in runs]))
    chart = control_chart(runs, usual_soil=soil)
    if args.json:
        _json("chart", chart_dict(chart))
        return 0
    says = Sentences(title="Chart", sentences=chart_sentences(chart, units), strong=1)
    _show([says, tables.chart_table(chart, units)])
    return 0
