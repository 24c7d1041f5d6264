"""`groundtruth spacing`: how evenly plants stand along the row (indices of ISO 7256-1)."""

from __future__ import annotations

import argparse
from pathlib import Path

from ...app import seeding as inputs
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
    from ...core.units import parse_length
    from ...io.sheets.spacings import read_spacings
    from ...seeding.plant_spacing import spacing_indices
    from ...views.json.seeding import as_text, spacing_dict
    from ...views.sentences.seeding import spacing_sentences
    from ...views.tables.seeding import spacing_table
    from ...views.terminal import Sentences

    wanted_m = parse_length(args.spacing, what="--spacing", above_zero=True)
    indices = spacing_indices(read_spacings(args.spacings), wanted_m)
    if args.json:
        print(as_text("spacing", spacing_dict(indices)))
        return 0
    sentences = spacing_sentences(indices, inputs.units_of(args))
    inputs.show([spacing_table(indices), Sentences(title="Along the row", sentences=sentences)])
    return 0
