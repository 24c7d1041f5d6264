"""`groundtruth simulate`: runs with known truth, for samples and for trying things out."""

from __future__ import annotations

import argparse
from pathlib import Path

from ...core.errors import InputError
from ..output import tell
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
    from ...app.simulate import SimulateRequest, simulated_files_for
    from ...simulation import SCENARIOS

    if args.list:
        width = max(map(len, SCENARIOS))
        for scenario in SCENARIOS.values():
            print(f"{scenario.name.ljust(width)}  {scenario.about}")
        return 0
    if args.samples is not None:
        asked = SimulateRequest(what="samples", folder=args.samples, overwrite=args.overwrite)
    elif args.season is not None:
        asked = SimulateRequest(
            what="season", folder=args.season, seed=args.seed, overwrite=args.overwrite
        )
    elif args.out is None:
        raise InputError("--scenario needs --out DIR, the folder to write the run into")
    else:
        asked = SimulateRequest(
            what="day",
            folder=args.out,
            scenario=args.scenario,
            seed=args.seed,
            units=args.units,
            overwrite=args.overwrite,
        )
    for path in simulated_files_for(asked):
        tell(path)
    return 0
