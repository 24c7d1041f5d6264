"""`groundtruth season`: keep the season's runs, ask the record, compare, map, export."""

from __future__ import annotations

import argparse
from pathlib import Path

from . import season_mending
from .output_options import add_backdrop, add_language, add_overwrite, as_sentence
from .seed_options import add_date_order

HELP = "keep the season's record: beds, comparisons, a map of it all"

CHANGE_KINDS = ("tyre", "wheel", "gear", "pressure", "unit serviced", "other")
FORMATS = ("csv", "geojson", "parquet", "gpx")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The actions of `season`, each with its own options."""
    parser.epilog = (
        "The record is one file, a GeoPackage that map programs open: --season FILE, else the "
        "environment variable GROUNDTRUTH_SEASON, else in your data folder."
    )
    parser.add_argument("--season", metavar="FILE", type=Path, help="the record's file")
    actions = parser.add_subparsers(dest="action", metavar="ACTION", required=True)

    def action(name: str, about: str) -> argparse.ArgumentParser:
        sub = actions.add_parser(name, help=about, description=as_sentence(about))
        # said before the action it holds too
        sub.add_argument(
            "--season",
            metavar="FILE",
            type=Path,
            default=argparse.SUPPRESS,
            help="the record's file",
        )
        return sub

    add = action("add", "measure runs and record them, or record results already measured")
    add.add_argument("sources", metavar="RUN.toml|RESULT.json", type=Path, nargs="+")
    add.add_argument(
        "--soil", default="", help='how the soil was, "dry" or "wet" (default: as the run says)'
    )
    add.add_argument("--seeder", default="", help="which seeder (default: as the run says)")
    add.add_argument("--note", default="", help="a note to the run")
    add.add_argument(
        "--replace", action="store_true", help="put it in place of a run that holds these passes"
    )

    change = action("change", "record a change on the seeder, from that day on")
    change.add_argument(
        "kind",
        metavar="KIND",
        type=lambda text: text.strip().lower().replace("-", " "),
        choices=CHANGE_KINDS,
        help="tyre, wheel, gear, pressure, unit-serviced or other",
    )
    change.add_argument("--day", required=True, metavar="YYYY-MM-DD")
    change.add_argument("--seeder", default="", help="which, where there are several")
    change.add_argument("--unit", default="", help="which row unit (default: all)")
    change.add_argument("--note", default="", help="what was done")

    beds = action("beds", "take your own map of beds, or write the list of beds to print")
    beds.add_argument("map", metavar="BEDS.geojson|.gpkg|.csv", type=Path, nargs="?")
    beds.add_argument("--out", metavar="HTML", type=Path, help="the list: crop, setting, day")
    add_overwrite(beds)

    for name, what in (("bench", "bench counts"), ("stands", "stand counts")):
        sheet = action(name, f"record a sheet of {what}")
        sheet.add_argument("sheet", metavar="CSV", type=Path)
        if name == "stands":
            add_date_order(sheet)
        like = sheet.add_mutually_exclusive_group()
        like.add_argument(
            "--replace", action="store_true", help="put it in place of the sheet that it corrects"
        )
        like.add_argument(
            "--also", action="store_true", help="keep it beside a sheet that is like it"
        )

    show = action("show", "say what lies where, and what is odd about it")
    show.add_argument("--bed", metavar="NAME", help="the sowings of one bed")
    show.add_argument("--all-beds", action="store_true", help="the sowings of every bed")
    _add_output(show)

    compare = action("compare", "compare ground per turn before and after, dry and wet, by year")
    way = compare.add_mutually_exclusive_group()
    way.add_argument("--change", metavar="YYYY-MM-DD", help="before and after this day")
    way.add_argument("--soil", nargs=2, metavar=("A", "B"), help="one soil against another")
    way.add_argument("--year", nargs=2, metavar=("A", "B"), help="one year against another")
    way.add_argument("--row-units", action="store_true", help="each row unit against the others")
    compare.add_argument(
        "--seeder",
        nargs="+",
        metavar="NAME",
        help="of two, one against the other; of one, the comparison for its runs alone",
    )
    _add_output(compare)

    chart = action("chart", "chart ground per turn over the season and say what stands out")
    chart.add_argument("--soil", metavar="NAME", help="the usual soil; others are left unjudged")
    chart.add_argument("--seeder", metavar="NAME", help="of which, where there are several")
    _add_output(chart)

    draw = action("map", "write a map of the whole season, one file that needs no network")
    draw.add_argument("--out", metavar="HTML", type=Path, required=True)
    draw.add_argument("--units", choices=("metric", "us"), help="units to show")
    add_backdrop(draw)
    add_language(draw)
    add_overwrite(draw)

    out = action("export", "write the whole record as files of an open format")
    out.add_argument("folder", metavar="DIR", type=Path)
    out.add_argument("--format", choices=FORMATS, default="csv")
    add_overwrite(out)

    back = action("import", "make a new record from exported files")
    back.add_argument("folder", metavar="DIR", type=Path)
    back.add_argument(
        "--unchecked", action="store_true", help="take files that are not as the export left them"
    )
    season_mending.add_actions(action)
    action("path", "say where the record is")


def _add_output(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--units", choices=("metric", "us"), help="units to show")
    add_language(parser)
    parser.add_argument("--json", action="store_true", help="print JSON instead of tables")


def run(args: argparse.Namespace) -> int:
    """Do what was asked."""
    from . import season_actions

    name = f"do_{args.action}"
    home = season_mending if hasattr(season_mending, name) else season_actions
    code: int = getattr(home, name)(args)
    return code
