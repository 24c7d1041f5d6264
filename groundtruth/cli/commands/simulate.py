"""`groundtruth simulate`: runs with known truth, for samples and for trying things out."""

from __future__ import annotations

import argparse
from pathlib import Path

from ...core.errors import InputError
from .output_options import add_overwrite

HELP = "make a simulated run with known truth, or write the sample runs again"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `simulate`."""
    what = parser.add_mutually_exclusive_group(required=True)
    what.add_argument("--samples", metavar="DIR", type=Path, help="write the sample runs into DIR")
    what.add_argument("--scenario", metavar="NAME", help="simulate a day of this kind; see --list")
    what.add_argument(
        "--season", metavar="DIR", type=Path, help="write a season of twelve days into DIR"
    )
    what.add_argument("--list", action="store_true", help="list the kinds of day")
    parser.add_argument("--seed", type=int, default=1, help="seed of the random draws (default: 1)")
    parser.add_argument("--out", metavar="DIR", type=Path, help="folder for the run of --scenario")
    parser.add_argument("--units", choices=("metric", "us"), default="metric")
    add_overwrite(parser)


def run(args: argparse.Namespace) -> int:
    """Simulate and write."""
    from ...simulation import SCENARIOS, simulate_day, write_run, write_samples, write_season

    if args.list:
        width = max(map(len, SCENARIOS))
        for scenario in SCENARIOS.values():
            print(f"{scenario.name.ljust(width)}  {scenario.about}")
        return 0
    if args.samples is not None:
        for path in write_samples(args.samples, overwrite=args.overwrite):
            print(path)
        return 0
    if args.season is not None:
        if args.seed < 0:
            raise InputError(f"--seed is {args.seed}; it must be 0 or more")
        for path in write_season(args.season, seed=args.seed, overwrite=args.overwrite):
            print(path)
        return 0
    if args.scenario not in SCENARIOS:
        raise InputError(
            f'no kind of day is called "{args.scenario}"; `groundtruth simulate --list` shows them'
        )
    if args.out is None:
        raise InputError("--scenario needs --out DIR, the folder to write the run into")
    if args.seed < 0:
        raise InputError(f"--seed is {args.seed}; it must be 0 or more")
    day = simulate_day(SCENARIOS[args.scenario], args.seed)
    print(write_run(day, args.out, units=args.units, overwrite=args.overwrite))
    return 0
