"""`groundtruth choose`: which setting gives the stand that is wanted, and how sure that is."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from ...app import seeding as inputs
from . import seed_options as options

if TYPE_CHECKING:
    from ...views.tables.result import Table

HELP = "choose the setting for each crop, from bench counts and the ground per turn"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `choose`."""
    options.add_bench_options(parser)
    options.add_settings(parser)
    options.add_ground(parser)
    options.add_crops(parser)
    options.add_output(parser)


def run(args: argparse.Namespace) -> int:
    """Choose and print."""
    from ...views.json.seeding import as_text, choice_dict, ground_dict, notice_dicts
    from ...views.sentences.seeding import choice_sentences
    from ...views.tables.seeding import choice_table
    from ...views.terminal import Sentences

    ground = inputs.ground_of(args)
    crops = inputs.crops_of(args, ground)
    choices, notices = inputs.choices_of(args, ground, crops)
    if args.json:
        body = {
            **ground_dict(ground),
            "choices": [choice_dict(c, ground) for c in choices],
            "notices": notice_dicts(notices),
        }
        print(as_text("choose", body))
        return 0
    units = inputs.units_of(args)
    blocks: list[Table | Sentences] = []
    for choice in choices:
        sentences = choice_sentences(choice, units, ground.in_use_m)
        blocks += [
            choice_table(choice, units),
            Sentences(title="Choice", sentences=sentences, strong=1),
        ]
    inputs.show([*blocks, *inputs.notice_block(notices)])
    return 0
