"""`groundtruth inspect`: what a track file holds, and which passes were found in it."""

from __future__ import annotations

import argparse
from pathlib import Path

from ..output import show, show_json
from .output_options import add_language

HELP = "say what a track file holds: fixes, fields, passes found, repairs"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `inspect`."""
    parser.add_argument("track", metavar="TRACK", type=Path, nargs="+", help="track file or files")
    parser.add_argument("--json", action="store_true", help="print JSON instead of text")
    parser.add_argument(
        "--time-zone", metavar="NAME", help='show times in this zone, such as "Europe/Oslo"'
    )
    parser.add_argument("--units", choices=("metric", "us"), default="metric")
    add_language(parser)


def run(args: argparse.Namespace) -> int:
    """Read, find passes, print."""
    from ...app.inspect import InspectRequest, inspection_for
    from ...views.inspection_blocks import inspection_blocks
    from ...views.json.inspection import inspection_dict

    found = inspection_for(InspectRequest(track=tuple(args.track), time_zone=args.time_zone))
    if args.json:
        show_json("inspect", inspection_dict(found))
    else:
        zone = args.time_zone or "UTC"
        show(inspection_blocks(found, units=args.units, time_zone=zone))
    return 0
