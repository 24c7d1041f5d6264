"""`groundtruth measure`: a run in, the figures on the terminal, the map and report in files."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from ...core.errors import InputError
from .output_options import add_overwrite

if TYPE_CHECKING:
    from ...core.run import Run

HELP = "measure the ground per gear turn of a run, with slip and corrected targets"

MAP, REPORT, RESULT = "map.html", "report.html", "result.json"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `measure`."""
    parser.add_argument(
        "source", metavar="RUN.toml|TRACK", type=Path, help="a run description, or a track file"
    )
    parser.add_argument(
        "--out",
        metavar="DIR",
        type=Path,
        help=f"folder for {MAP}, {REPORT} and {RESULT}; made if missing (default: beside the run)",
    )
    add_overwrite(parser)
    parser.add_argument(
        "--json", action="store_true", help="print the result as JSON instead of tables"
    )
    parser.add_argument(
        "--units", choices=("metric", "us"), help="units to show (default: the run's, or metric)"
    )
    parser.add_argument(
        "--tiles",
        action="store_true",
        help="let the map load an online background; without it the map needs no network",
    )
    alone = parser.add_argument_group("without a run description, beside a track")
    alone.add_argument("--turns", metavar="CSV", type=Path, help="the sheet of turn counts")
    alone.add_argument(
        "--wheel",
        metavar="LENGTH",
        help='zero-slip circumference of the drive wheel, "76 in" or "1.92 m ± 5 mm"; for slip',
    )
    alone.add_argument(
        "--turns-of",
        choices=("gear", "wheel"),
        help="what was counted (default: the gear that is turned by hand)",
    )
    alone.add_argument(
        "--gear-turns-per-wheel-turn", metavar="NUMBER", type=float, help="gear ratio (default: 1)"
    )
    alone.add_argument("--in-use", metavar="LENGTH", help="ground per gear turn worked with now")
    alone.add_argument(
        "--time-zone", metavar="NAME", help='for times without zone, such as "Europe/Oslo"'
    )


def run(args: argparse.Namespace) -> int:
    """Measure, write the files, print."""
    from dataclasses import replace

    from ...io import read_run
    from ...io.result_json import result_to_json
    from ...io.writing import check_places, write_all_whole
    from ...measurement.measure import measure
    from ...views.map.run_page import field_map_html
    from ...views.report.page import report_html

    alone = ("turns", "wheel", "turns_of", "gear_turns_per_wheel_turn", "in_use", "time_zone")
    described = args.source.suffix.lower() == ".toml"
    if described:
        given = [name for name in alone if getattr(args, name) is not None]
        if given:
            option = "--" + given[0].replace("_", "-")
            raise InputError(
                f"{option}: belongs to a track without a run description; write it into "
                f"{args.source.name} instead"
            )
        the_run = read_run(args.source)
    else:
        the_run = _run_without_description(args)
    if args.units:
        the_run = replace(the_run, units=args.units)
    folder = args.out if args.out is not None else args.source.parent
    check_places([folder / name for name in (MAP, REPORT, RESULT)], overwrite=args.overwrite)
    result = measure(the_run)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        why = f"{folder}: cannot be made ({error.strerror}); choose another --out"
        raise InputError(why) from error
    as_json = result_to_json(result)
    write_all_whole(
        {
            folder / MAP: field_map_html(result, tiles=args.tiles),
            folder / REPORT: report_html(result),
            folder / RESULT: as_json,
        },
        overwrite=args.overwrite,
    )
    if args.json:
        print(as_json)
    else:
        from rich.console import Console

        from ...views.terminal import print_result

        print_result(result, Console())
    written = f"{folder / MAP}, {REPORT} and {RESULT}"
    print(f"Written: {written}", file=sys.stderr if args.json else sys.stdout)
    return 0


def _run_without_description(args: argparse.Namespace) -> Run:
    from zoneinfo import ZoneInfo

    from ...core.run import Run
    from ...core.seeder import Seeder
    from ...core.units import parse_length, parse_length_measured
    from ...io import read_track, read_turns
    from ...io.timestamps import local_day

    if args.turns is None:
        raise InputError(
            f"{args.source.name}: a track alone holds no turns; add --turns TURNS.csv, or give a "
            "run description (RUN.toml)"
        )
    track = read_track(args.source, time_zone=args.time_zone)
    zone = args.time_zone or "UTC"
    day = local_day(float(track.time_s[0]), ZoneInfo(zone))
    turns = read_turns(args.turns, time_zone=args.time_zone, day=day)
    seeder = Seeder(
        turns_of=args.turns_of or "gear",
        wheel_circumference=(
            None if args.wheel is None else parse_length_measured(args.wheel, what="--wheel")
        ),
        gear_turns_per_wheel_turn=(
            1.0 if args.gear_turns_per_wheel_turn is None else args.gear_turns_per_wheel_turn
        ),
        ground_per_gear_turn_in_use_m=(
            None
            if args.in_use is None
            else parse_length(args.in_use, what="--in-use", above_zero=True)
        ),
    )
    return Run(
        name=args.source.stem,
        track=track,
        turns=turns,
        seeder=seeder,
        units=args.units or "metric",
        time_zone=zone,
    )
