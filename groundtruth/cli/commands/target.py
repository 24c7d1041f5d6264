"""`groundtruth target`: seeds per gear turn wanted, corrected for what a turn really covers."""

from __future__ import annotations

import argparse

from ...app import seeding as inputs
from . import seed_options as options

HELP = "say how many seeds a gear turn must drop for the stand that is wanted"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `target`."""
    options.add_ground(parser)
    options.add_crops(parser)
    options.add_output(parser)


def run(args: argparse.Namespace) -> int:
    """Compute and print."""
    from ...views.json.seeding import as_text, ground_dict, target_dict
    from ...views.tables.seeding import target_table

    ground = inputs.ground_of(args)
    crops = inputs.crops_of(args, ground)
    if not args.json:
        inputs.show([target_table(crops, ground, inputs.units_of(args))])
        return 0
    targets = [target_dict(crop, ground) for crop in crops]
    one = targets[0] if len(targets) == 1 else {}
    print(
        as_text(
            "target",
            {
                # a single target stands at the top as well, for the shortest scripts
                **{k: one[k] for k in one if k.startswith("seeds_per_turn")},
                **ground_dict(ground),
                "targets": targets,
            },
        )
    )
    return 0
