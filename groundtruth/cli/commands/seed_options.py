"""Options that the seed commands share: the ground per turn, the crops, the bench, the output."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from .output_options import add_language

if TYPE_CHECKING:
    from ...io.timestamps import DateOrder


def add_ground(parser: argparse.ArgumentParser) -> None:
    """Where the ground per gear turn comes from."""
    group = parser.add_argument_group("ground per gear turn, one of")
    group.add_argument(
        "--result", metavar="RESULT.json", type=Path, help="what groundtruth measure wrote"
    )
    group.add_argument(
        "--ground-per-turn", metavar="LENGTH", help='typed in: "63.2 cm ± 5 mm", "25 1/4 in"'
    )


def add_crops(parser: argparse.ArgumentParser) -> None:
    """What is wanted of each crop."""
    group = parser.add_argument_group("what is wanted (default: the crops of the result)")
    group.add_argument(
        "--crops", metavar="CROPS.csv", type=Path, help="crop sheet, one line for each crop and lot"
    )
    group.add_argument("--crop", metavar="NAME", default="", help="this crop only")
    group.add_argument("--spacing", metavar="LENGTH", help='plants this far apart, "1 1/2 in"')
    group.add_argument(
        "--plants-per-bed",
        metavar="NUMBER",
        type=float,
        help="plants per metre of bed, all lines together (per foot with --units us)",
    )
    group.add_argument("--rate", metavar="RATE", help='seed by weight, "9 lb/acre", "10 kg/ha"')
    group.add_argument("--row-spacing", metavar="LENGTH", help="distance between lines, for --rate")
    group.add_argument(
        "--lines", metavar="NUMBER", type=int, default=None, help="lines in a bed (default: 1)"
    )
    group.add_argument(
        "--germination", metavar="SHARE", type=float, help="share of seeds that germinate, 0.85"
    )
    group.add_argument(
        "--germination-tested",
        metavar="NUMBER",
        type=float,
        help="seeds in the germination test; gives its uncertainty",
    )
    group.add_argument(
        "--emergence",
        metavar="SHARE",
        type=float,
        help="share of those that come up in the field, 0.9",
    )
    group.add_argument(
        "--accept", metavar="RANGE", help='plants that need no remedy, "20-28 per m", "6-9 per ft"'
    )
    group.add_argument(
        "--seeds-per-gram", metavar="NUMBER", type=float, help="for weights and rates"
    )
    group.add_argument("--depth", metavar="LENGTH", help="sowing depth, for the card")
    group.add_argument(
        "--stands",
        metavar="STANDS.csv",
        type=Path,
        help="stand counts of earlier sowings: their field emergence is used",
    )


def add_settings(parser: argparse.ArgumentParser) -> None:
    """The order of the settings."""
    parser.add_argument(
        "--settings",
        metavar="A,B,C",
        help="the seeder's settings from fewest to most seeds; needed unless all are numbers",
    )


def add_date_order(parser: argparse._ActionsContainer) -> None:
    """Which number of a date with slashes is the day."""
    parser.add_argument(
        "--date-order",
        choices=("day-first", "month-first"),
        help="for dates such as 05/12/2027, which are refused without",
    )


def date_order_of(args: argparse.Namespace) -> DateOrder | None:
    """The order of dates that was typed, None for none."""
    if args.date_order is None:
        return None
    return "day first" if args.date_order == "day-first" else "month first"


def add_as_typed(parser: argparse.ArgumentParser) -> None:
    """Counts and figures that cannot be true are kept all the same."""
    parser.add_argument(
        "--as-typed",
        action="store_true",
        help="keep counts and figures that cannot be true; without it counts are left out",
    )


def add_output(parser: argparse.ArgumentParser) -> None:
    """Units, language and JSON."""
    parser.add_argument("--units", choices=("metric", "us"), help="units to show")
    add_language(parser)
    parser.add_argument("--json", action="store_true", help="print JSON instead of tables")


def add_bench_options(parser: argparse.ArgumentParser) -> None:
    """The bench sheet and the check made of it."""
    add_as_typed(parser)
    parser.add_argument(
        "bench",
        metavar="BENCH.csv",
        type=Path,
        help="bench counts: crop,seed_lot,setting,turns,seeds (or grams,seeds_per_gram)",
    )
    parser.add_argument(
        "--turns", metavar="NUMBER", type=int, help="turns of the check at the bench (default: "
        "enough for about 120 seeds)",
    )  # fmt: skip
    parser.add_argument(
        "--speed", metavar="SPEED", help='field speed, "3 km/h": warns where the bench was turned '
        "much slower or faster",
    )  # fmt: skip
