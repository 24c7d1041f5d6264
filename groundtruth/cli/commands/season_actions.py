"""What each action of `groundtruth season` does."""

from __future__ import annotations

import argparse
from datetime import date
from typing import TYPE_CHECKING

from ...core.errors import InputError
from ...season import add_change, season_path
from ..output import tell
from ..typed import day_of
from .output_options import backdrop_of
from .season_answers import do_chart, do_compare, do_show
from .seed_options import date_order_of

if TYPE_CHECKING:
    from ...season import Added

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
    tell(added.text, 400)
    for text in added.says:
        tell(f"  {text}")


def do_path(args: argparse.Namespace) -> int:
    """Where the record is."""
    tell(season_path(args.season))
    return 0


def do_add(args: argparse.Namespace) -> int:
    """Measure and record."""
    from ...app.season import AddRunsRequest, added_runs_for

    asked = AddRunsRequest(
        record=season_path(args.season),
        sources=tuple(args.sources),
        seeder=args.seeder,
        soil=args.soil,
        note=args.note,
        replace=args.replace,
    )
    for added in added_runs_for(asked):
        _say(added)
    return 0


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
    """The grower's own map, the list of beds, or both."""
    from ...app.season import add_bed_map
    from ...io.writing import check_places, write_whole

    record = season_path(args.season)
    if args.map is None and args.out is None:
        raise InputError("name your map of beds to take it, or --out HTML for the list of beds")
    if args.out is not None:
        check_places([args.out], overwrite=args.overwrite)
    if args.map is not None:
        _say(add_bed_map(record, args.map))
    if args.out is not None:
        from ...season import read_season
        from ...views.bed_list import bed_list_html

        today = date.today()  # noqa: DTZ011  the day on the grower's own calendar
        page = bed_list_html(read_season(record), made_on=today)
        write_whole(args.out, page, overwrite=args.overwrite)
        tell(f"Written: {args.out}")
    return 0


def do_bench(args: argparse.Namespace) -> int:
    """A bench sheet."""
    from ...app.season import add_bench_sheet

    _say(
        add_bench_sheet(season_path(args.season), args.sheet, replace=args.replace, also=args.also)
    )
    return 0


def do_stands(args: argparse.Namespace) -> int:
    """A stand sheet."""
    from ...app.season import add_stand_sheet

    _say(
        add_stand_sheet(
            season_path(args.season),
            args.sheet,
            replace=args.replace,
            also=args.also,
            date_order=date_order_of(args),
        )
    )
    return 0


def do_map(args: argparse.Namespace) -> int:
    """The season's map."""
    from ...io.writing import check_places, write_whole
    from ...views.map.season_page import season_map_html

    check_places([args.out], overwrite=args.overwrite)
    backdrop = backdrop_of(args)
    page = season_map_html(season_path(args.season), units=args.units, backdrop=backdrop)
    write_whole(args.out, page, overwrite=args.overwrite)
    tell(f"Written: {args.out}")
    return 0


def do_export(args: argparse.Namespace) -> int:
    """The whole record as files."""
    from ...core.language import many
    from ...season.exchange import export_season

    files, left_out = export_season(
        season_path(args.season), args.folder, args.format, overwrite=args.overwrite
    )
    tell(f"Written: {many(len(files), '{count} file', '{count} files')} in {args.folder}")
    if left_out:
        tell(f"Not exported, since another program made it: {', '.join(left_out)}", 1000)
    return 0


def do_import(args: argparse.Namespace) -> int:
    """A new record from files."""
    from ...core.language import many
    from ...season.exchange import import_season

    path = season_path(args.season)
    runs = import_season(args.folder, path, unchecked=args.unchecked)
    tell(f"{path}: {many(runs, '{count} run', '{count} runs')} imported")
    return 0
