"""`groundtruth choose`: which setting gives the stand that is wanted, and how sure that is."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from ...core.language import say
from ..output import notice_block, show, show_json
from ..seed_requests import choice_of, ground_of, result_of, units_of
from . import seed_options as options

if TYPE_CHECKING:
    from ...views.blocks import Table

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
    from ...app.seeding import choices_for
    from ...views.blocks import Sentences
    from ...views.json.documents import choose_document
    from ...views.sentences.seeding import choice_sentences
    from ...views.tables.seeding import choice_table

    result = result_of(args)
    ground, units = ground_of(args, result), units_of(args, result)
    found = choices_for(choice_of(args, ground, units))
    if args.json:
        show_json("choose", choose_document(found.choices, found.notices, ground))
        return 0
    blocks: list[Table | Sentences] = []
    for choice in found.choices:
        sentences = choice_sentences(choice, units, ground.in_use_m)
        blocks += [
            choice_table(choice, units),
            Sentences(title=say("Choice"), sentences=sentences, strong=1),
        ]
    show([*blocks, *notice_block(found.notices)])
    return 0
