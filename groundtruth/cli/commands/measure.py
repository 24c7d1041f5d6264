"""`groundtruth measure`: a run in, the figures on the terminal, the map and report in files."""

from __future__ import annotations

import argparse
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from ...app.pages import MAP, REPORT, RESULT, pages_of
from ...core.errors import InputError
from ...core.language import say
from ..output import tell, terminal
from .output_options import add_backdrop, add_language, add_overwrite, backdrop_of
from .seed_options import add_date_order, date_order_of

if TYPE_CHECKING:
    from ...app.measure import LooseRun

HELP = "measure the ground per gear turn of a run, with slip and corrected targets"

_ALONE = (
    "turns",
    "wheel",
    "turns_of",
    "gear_turns_per_wheel_turn",
    "in_use",
    "time_zone",
    "date_order",
)


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
    add_language(parser)
    parser.add_argument(
        "--tiles",
        action="store_true",
        help="let the map load an online background; without it the map needs no network",
    )
    parser.add_argument(
        "--prior",
        metavar="JSON",
        type=Path,
        help="what a fleet teaches, from groundtruth fleet prior",
    )
    add_backdrop(parser)
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
    add_date_order(alone)


def run(args: argparse.Namespace) -> int:
    """Measure, write the files, print."""
    from ...app.measure import MeasureRequest, measured_run_for, run_for
    from ...io.writing import check_places, make_folder, write_all_whole

    asked = MeasureRequest(run=_source(args), units=args.units, prior=args.prior)
    asked = replace(asked, run=run_for(asked), prior=None)
    backdrop = backdrop_of(args)
    folder = args.out if args.out is not None else args.source.parent
    check_places([folder / name for name in (MAP, REPORT, RESULT)], overwrite=args.overwrite)
    result = measured_run_for(asked).result
    try:
        make_folder(folder)
    except OSError as error:
        why = f"{folder}: cannot be made ({error.strerror}); choose another --out"
        raise InputError(why) from error
    pages = pages_of(result, tiles=args.tiles, backdrop=backdrop)
    write_all_whole({folder / n: page for n, page in pages.items()}, overwrite=args.overwrite)
    if args.json:
        print(pages[RESULT])
    else:
        from ...views.terminal import print_result

        print_result(result, terminal())
    written = say("{first}, {others} and {last}", first=folder / MAP, others=REPORT, last=RESULT)
    tell(say("Written: {files}", files=written), aside=args.json)
    return 0


def _source(args: argparse.Namespace) -> Path | LooseRun:
    """The run description, or the track with what its options say."""
    if args.source.suffix.lower() == ".toml":
        given = [name for name in _ALONE if getattr(args, name) is not None]
        if given:
            option = "--" + given[0].replace("_", "-")
            raise InputError(
                f"{option}: belongs to a track without a run description; write it into "
                f"{args.source.name} instead"
            )
        source: Path = args.source
        return source
    if args.turns is None:
        raise InputError(
            f"{args.source.name}: a track alone holds no turns; add --turns TURNS.csv, or give a "
            "run description (RUN.toml)"
        )
    from ...app.measure import LooseRun
    from ...core.seeder import Seeder
    from ...core.units import parse_length, parse_length_measured

    wheel, ratio, in_use = args.wheel, args.gear_turns_per_wheel_turn, args.in_use
    return LooseRun(
        track=args.source,
        turns=args.turns,
        seeder=Seeder(
            turns_of=args.turns_of or "gear",
            wheel_circumference=(
                None if wheel is None else parse_length_measured(wheel, what="--wheel")
            ),
            gear_turns_per_wheel_turn=1.0 if ratio is None else ratio,
            ground_per_gear_turn_in_use_m=(
                None if in_use is None else parse_length(in_use, what="--in-use", above_zero=True)
            ),
        ),
        name=args.source.stem,
        time_zone=args.time_zone,
        date_order=date_order_of(args),
    )
