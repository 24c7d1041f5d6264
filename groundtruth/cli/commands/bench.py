"""`groundtruth bench`: seeds per gear turn by setting, from what was caught at the bench."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from ...core.language import say
from ..output import notice_block, show, show_json
from ..seed_requests import result_of, settings_of
from . import seed_options as options

if TYPE_CHECKING:
    from ...views.blocks import Table

HELP = "say how many seeds a gear turn drops at each setting, from bench counts"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `bench`."""
    parser.add_argument(
        "bench",
        metavar="BENCH.csv",
        type=Path,
        help="bench counts: crop,seed_lot,setting,turns,seeds (or grams,seeds_per_gram)",
    )
    options.add_settings(parser)
    options.add_as_typed(parser)
    parser.add_argument(
        "--result",
        metavar="RESULT.json",
        type=Path,
        help="what groundtruth measure wrote: its seeder's order of settings is used",
    )
    options.add_output(parser)


def run(args: argparse.Namespace) -> int:
    """Read, compute, print."""
    from ...app.seeding import BenchRequest, lot_curves_for
    from ...views.blocks import Sentences
    from ...views.json.documents import bench_document
    from ...views.sentences.seeding import bench_sentences
    from ...views.tables.seeding import bench_table

    result = result_of(args)
    order = settings_of(args) or (result.seeder.settings if result else ())
    curves, notices = lot_curves_for(
        BenchRequest(bench=args.bench, settings=order, as_typed=args.as_typed)
    )
    if args.json:
        pairs = ((one.crop, one.seed_lot, one.curve) for one in curves)
        show_json("bench", bench_document(pairs, notices))
        return 0
    blocks: list[Table | Sentences] = []
    for one in curves:
        blocks += [
            bench_table(one.crop, one.seed_lot, one.curve),
            Sentences(title=say("What they say"), sentences=bench_sentences(one.curve)),
        ]
    show([*blocks, *notice_block(notices)])
    return 0
