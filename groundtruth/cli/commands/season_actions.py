"""What each action of `groundtruth season` does."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from ...core.errors import InputError
from ...season import Added, add_bench, add_change, add_run, add_stands, season_path, set_map
from .season_answers import day_of, do_chart, do_compare, do_show

if TYPE_CHECKING:
    from ...core.result import Result, SlipPart

__all__ = [
    "do_add",
    "do_beds",
    "do_bench",
    "do_change",
    "do_chart",
    "do_compare",
    "do_export",
    "do_import",
    "do_map",
    "do_path",
    "do_show",
    "do_stands",
]


def _say(added: Added) -> None:
    from ...core.safe_text import visible

    print(visible(added.text, 400))


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
            soil=args.soil.strip().casefold(),
            note=args.note.strip(),
            replace=args.replace,
        )
        _say(added)
    return 0


def _measured(source: Path) -> tuple[Result, tuple[SlipPart, ...]]:
    """A run's result, and slip along its passes where its track is at hand and turns were timed."""
    if source.suffix.lower() == ".toml":
        from ...io import read_run
        from ...measurement.measure import measure
        from ...measurement.slip_along import slip_along
        from ...passes import find_passes

        run = read_run(source)
        passes = find_passes(run.track)
        result = measure(run, passes)
        return result, slip_along(run, result, passes)
    if source.suffix.lower() != ".json":
        raise InputError(
            f"{source.name}: give a run description (RUN.toml), or the result.json of a run that "
            "was measured"
        )
    from ...io.files import MAX_TRACK_BYTES, read_file
    from ...io.result_json import result_from_json

    data, file = read_file(source, error=InputError, what="result", limit=MAX_TRACK_BYTES)
    try:
        return result_from_json(data.decode("utf-8"), file.name), ()
    except UnicodeDecodeError:
        raise InputError(
            f"{file.name}: is no text; give a run description (RUN.toml) or a result.json"
        ) from None


def do_change(args: argparse.Namespace) -> int:
    """A change on the seeder."""
    added = add_change(
        season_path(args.season),
        day=day_of(args.day, "--day"),
        kind=args.kind,
        seeder=args.seeder.strip(),
        unit=args.unit.strip(),
        note=args.note.strip(),
    )
    _say(added)
    return 0


def do_beds(args: argparse.Namespace) -> int:
    """The grower's own map."""
    from ...io.bed_map import read_beds

    _say(set_map(season_path(args.season), read_beds(args.map)))
    return 0


def do_bench(args: argparse.Namespace) -> int:
    """A bench sheet."""
    from ...io.sheets.bench import read_bench

    bench = read_bench(args.sheet)
    _say(add_bench(season_path(args.season), bench.counts, bench.file.sha256))
    return 0


def do_stands(args: argparse.Namespace) -> int:
    """A stand sheet."""
    from ...io.sheets.stands import read_stands

    stands = read_stands(args.sheet)
    _say(add_stands(season_path(args.season), stands.counts, stands.file.sha256))
    return 0


def do_map(args: argparse.Namespace) -> int:
    """The season's map."""
    from ...io.writing import check_places, write_whole
    from ...views.map.season_page import season_map_html

    check_places([args.out], overwrite=args.overwrite)
    page = season_map_html(season_path(args.season), units=args.units)
    write_whole(args.out, page, overwrite=args.overwrite)
    print(f"Written: {args.out}")
    return 0


def do_export(args: argparse.Namespace) -> int:
    """The whole record as files."""
    from ...core.safe_text import visible
    from ...season.exchange import export_season

    files, left_out = export_season(
        season_path(args.season), args.folder, args.format, overwrite=args.overwrite
    )
    print(f"Written: {len(files)} files in {args.folder}")
    if left_out:
        print(f"Not exported, since another program made it: {visible(', '.join(left_out))}")
    return 0


def do_import(args: argparse.Namespace) -> int:
    """A new record from files."""
    from ...core.display import many
    from ...season.exchange import import_season

    path = season_path(args.season)
    runs = import_season(args.folder, path, unchecked=args.unchecked)
    print(f"{path}: {many(runs, 'run', 'runs')} imported")
    return 0
