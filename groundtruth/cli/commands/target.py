"""`groundtruth target`: seeds per gear turn wanted, corrected for what a turn really covers."""

from __future__ import annotations

import argparse

from ..output import notice_block, show, show_json
from ..seed_requests import crops_of, ground_of, result_of, units_of
from . import seed_options as options

HELP = "say how many seeds a gear turn must drop for the stand that is wanted"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `target`."""
    options.add_ground(parser)
    options.add_crops(parser)
    options.add_output(parser)


def run(args: argparse.Namespace) -> int:
    """Compute and print."""
    from ...app.crops import crops_for
    from ...views.json.documents import target_document
    from ...views.tables.targets import targets_table

    result = result_of(args)
    ground, units = ground_of(args, result), units_of(args, result)
    crops, notices = crops_for(crops_of(args, units), ground.crops)
    if args.json:
        show_json("target", target_document(crops, notices, ground))
    else:
        targets = targets_table([ground.target(crop) for crop in crops], units)
        show([targets, *notice_block(notices)])
    return 0
