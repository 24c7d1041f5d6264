"""`groundtruth share`: the one row of a run that may leave its farm."""

from __future__ import annotations

import argparse
from pathlib import Path

from ..output import show, tell
from .output_options import add_overwrite

HELP = "write the row of a run that may leave the farm, and show all of it first"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `share`."""
    parser.add_argument("result", metavar="RESULT.json", type=Path)
    parser.add_argument("--out", metavar="JSON", type=Path, required=True)
    parser.add_argument("--model", metavar="TEXT", default="", help="make and model of the seeder")
    parser.add_argument(
        "--fleet",
        metavar="FLEET",
        type=Path,
        help="a fleet of the region: the cell is as large as five of its farms need "
        "(default: half a degree)",
    )
    add_overwrite(parser)


def run(args: argparse.Namespace) -> int:
    """Show the row, then write it."""
    from ...app.share import ShareRequest, shared_row_for
    from ...fleet.shared_files import row_to_json
    from ...io.writing import check_places, write_whole
    from ...views.fleet.shared import shared_table

    row = shared_row_for(ShareRequest(result=args.result, model=args.model, fleet=args.fleet))
    check_places([args.out], overwrite=args.overwrite)
    show([shared_table(row)])
    write_whole(args.out, row_to_json(row), overwrite=args.overwrite)
    tell(f"Written: {args.out}, which holds this and nothing else. It is sent nowhere.")
    return 0
