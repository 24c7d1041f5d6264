"""What each action of `groundtruth season` does."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..errors import InputError
from ..season import (
    Added,
    add_bench,
    add_change,
    add_run,
    add_stands,
    season_path,
    set_map,
)

if TYPE_CHECKING:
    from ..compare import RunFigure
    from ..result import Result
    from ..run import UnitSystem
    from ..season.query import Season
    from ..slipalong import SlipPart
    from ..tables import Table
    from ..terminal import Sentences


def _say(added: Added) -> None:
    from ..cleantext import visible

    print(visible(added.text, 400))


def _show(blocks: Sequence[Table | Sentences]) -> None:
    from rich.console import Console

    from ..terminal import print_blocks

    print_blocks(blocks, Console())


def _json(kind: str, body: dict[str, Any]) -> None:
    from ..seedjson import as_text

    print(as_text(kind, body))


def _season(args: argparse.Namespace) -> tuple[Season, UnitSystem]:
    from ..season.query import read_season

    season = read_season(season_path(args.season))
    return season, args.units or season.units


def do_path(args: argparse.Namespace) -> int:
    """Where the record is."""
    print(season_path(args.season))
    return 0


def do_add(args: argparse.Namespace) -> int:
    """Measure and record."""
    path = season_path(args.season)
    for source in args.sources:
        result, along = _measured(source)
        added = add_run(
            path,
            result,
            along=along,
            seeder=args.seeder.strip(),
            soil=args.soil.strip(),
            note=args.note.strip(),
            replace=args.replace,
        )
        _say(added)
    return 0


def _measured(source: Path) -> tuple[Result, tuple[SlipPart, ...]]:
    """A run's result, and slip along its passes where its track is at hand and turns were timed."""
    if source.suffix.lower() == ".toml":
        from ..pipeline import measure
        from ..readers import read_run
        from ..slipalong import slip_along

        run = read_run(source)
        result = measure(run)
        return result, slip_along(run, result)
    from ..readers.files import MAX_TRACK_BYTES, read_file
    from ..resultjson import result_from_json

    data, file = read_file(source, error=InputError, what="result", limit=MAX_TRACK_BYTES)
    try:
        return result_from_json(data.decode("utf-8"), file.name), ()
    except UnicodeDecodeError:
        raise InputError(
            f"{file.name}: is no text; give a run description (RUN.toml) or a result.json"
        ) from None


def _day(text: str, option: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise InputError(f"{option} {text!r} is no day; write it as 2027-06-08") from None


def do_change(args: argparse.Namespace) -> int:
    """A change on the seeder."""
    added = add_change(
        season_path(args.season),
        day=_day(args.day, "--day"),
        kind=args.kind,
        seeder=args.seeder.strip(),
        unit=args.unit.strip(),
        note=args.note.strip(),
    )
    _say(added)
    return 0


def do_beds(args: argparse.Namespace) -> int:
    """The grower's own map."""
    from ..season.bedsmap import read_beds

    _say(set_map(season_path(args.season), read_beds(args.map)))
    return 0


def do_bench(args: argparse.Namespace) -> int:
    """A bench sheet."""
    from ..metering import read_bench

    bench = read_bench(args.sheet)
    _say(add_bench(season_path(args.season), bench.counts, bench.file.sha256))
    return 0


def do_stands(args: argparse.Namespace) -> int:
    """A stand sheet."""
    from ..stands import read_stands

    stands = read_stands(args.sheet)
    _say(add_stands(season_path(args.season), stands.counts, stands.file.sha256))
    return 0


def do_show(args: argparse.Namespace) -> int:
    """What lies where."""
    from ..season import tables
    from ..terminal import Sentences

    season, units = _season(args)
    sowings = season.sowings
    if args.bed is not None:
        wanted = args.bed.strip().casefold()
        sowings = tuple(s for s in sowings if s.bed.casefold() == wanted)
        if not sowings:
            known = ", ".join(dict.fromkeys(s.bed for s in season.sowings)) or "none"
            raise InputError(f"--bed {args.bed}: nothing was sown on such a bed; known: {known}")
    if args.json:
        _json(
            "season",
            {
                "runs": [asdict(r) for r in season.runs],
                "sowings": [asdict(s) for s in sowings],
                "sown": [asdict(s) for s in season.sown],
                "oddities": [asdict(o) for o in season.oddities],
                "changes": [asdict(c) for c in season.changes],
            },
        )
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
    from ..compare import difference, difference_sentences, unit_sentences, units_over_season
    from ..season import tables
    from ..terminal import Sentences

    season, units = _season(args)
    if args.row_units:
        found = units_over_season(season.unit_runs)
        if not found:
            raise InputError("no run of the record has two row units to compare")
        if args.json:
            _json("row units", {"row_units": [asdict(u) for u in found]})
            return 0
        says = Sentences(title="Row units", sentences=unit_sentences(found), strong=1)
        _show([says, tables.units_table(found)])
        return 0
    chosen, group_of, first, second, allow_for = _sides(args, season)
    result = difference(chosen, group_of, first, second, allow_for=allow_for)
    if args.json:
        _json("comparison", asdict(result))
        return 0
    said = difference_sentences(result, units)
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
        day = _day(args.change, "--change").isoformat()
        # up to the neighbouring changes, so that only this one lies between the groups
        of = {c.seeder for c in season.changes if c.day == day and c.seeder}
        runs = [r for r in runs if not of or r.seeder in of]
        before = max((r.phase for r in runs if r.day < day), default=0)
        after = min((r.phase for r in runs if r.day >= day), default=0)
        near = [r for r in runs if r.phase == (before if r.day < day else after)]
        labels = f"before {day}", f"from {day} on"
        return near, lambda r: labels[r.day >= day], *labels, allow[:1]
    if args.soil is not None:
        return runs, _soil, args.soil[0], args.soil[1], allow[1:]
    if args.seeder is not None:
        return runs, lambda r: r.seeder, args.seeder[0], args.seeder[1], allow[:1]
    return runs, lambda r: r.day[:4], args.year[0], args.year[1], allow


def do_chart(args: argparse.Namespace) -> int:
    """The control chart."""
    from ..compare import chart_sentences, control_chart
    from ..season import tables
    from ..terminal import Sentences

    season, units = _season(args)
    runs = [r for r in season.runs if args.seeder is None or r.seeder == args.seeder]
    if not runs:
        raise InputError("no run to chart; add runs first, or leave --seeder out")
    chart = control_chart(runs, usual_soil=args.soil)
    if args.json:
        _json("chart", asdict(chart))
        return 0
    says = Sentences(title="Chart", sentences=chart_sentences(chart, units), strong=1)
    _show([says, tables.chart_table(chart, units)])
    return 0


def do_map(args: argparse.Namespace) -> int:
    """The season's map."""
    from ..seasonmap import season_map_html
    from ..writing import write_whole

    write_whole(args.out, season_map_html(season_path(args.season), units=args.units))
    print(f"Written: {args.out}")
    return 0


def do_export(args: argparse.Namespace) -> int:
    """The whole record as files."""
    from ..season.exchange import export_season

    files = export_season(season_path(args.season), args.folder, args.format)
    print(f"Written: {len(files)} files in {args.folder}")
    return 0


def do_import(args: argparse.Namespace) -> int:
    """A new record from files."""
    from ..figures import many
    from ..season.exchange import import_season

    path = season_path(args.season)
    print(f"{path}: {many(import_season(args.folder, path), 'run', 'runs')} imported")
    return 0
