"""`groundtruth spacing`: how evenly plants stand along the row (indices of ISO 7256-1)."""

from __future__ import annotations

import argparse
from pathlib import Path

from ...core.language import say
from ..output import show, show_json
from ..seed_requests import units_of
from . import seed_options as options

HELP = "say how evenly plants stand: multiples, misses, quality of feed, precision"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `spacing`."""
    parser.add_argument(
        "spacings", metavar="SPACINGS.csv", type=Path, help="one spacing a line, plant to plant"
    )
    parser.add_argument(
        "--spacing", metavar="LENGTH", required=True, help="the spacing the seeder was set for"
    )
    options.add_output(parser)


def run(args: argparse.Namespace) -> int:
    """Read, compute, print."""
    from ...app.stands import SpacingRequest, spacing_for
    from ...core.units import parse_length
    from ...views.blocks import Sentences
    from ...views.json.seeding import spacing_dict
    from ...views.sentences.seeding import spacing_sentences
    from ...views.tables.seeding import spacing_table

    wanted_m = parse_length(args.spacing, what="--spacing", above_zero=True)
    indices = spacing_for(SpacingRequest(spacings=args.spacings, wanted_m=wanted_m))
    if args.json:
        show_json("spacing", spacing_dict(indices))
        return 0
    sentences = spacing_sentences(indices, units_of(args))
    show([spacing_table(indices), Sentences(title=say("Along the row"), sentences=sentences)])
    return 0
