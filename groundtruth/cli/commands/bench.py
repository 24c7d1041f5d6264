"""`groundtruth bench`: seeds per gear turn by setting, from what was caught at the bench."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from ...app import seeding as inputs
from . import seed_options as options

if TYPE_CHECKING:
    from ...views.tables.result import Table

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
    parser.add_argument(
        "--result",
        metavar="RESULT.json",
        type=Path,
        help="what groundtruth measure wrote: its seeder's order of settings is used",
    )
    options.add_output(parser)


def run(args: argparse.Namespace) -> int:
    """Read, compute, print."""
    from ...io.sheets.bench import read_bench
    from ...seeding import setting_curve
    from ...seeding.ground_figure import figure_of
    from ...views.json.seeding import as_text, curve_dict, notice_dicts
    from ...views.sentences.seeding import bench_sentences
    from ...views.tables.seeding import bench_table
    from ...views.terminal import Sentences

    bench = read_bench(args.bench)
    ground = figure_of(inputs.result_of(args)) if args.result is not None else None
    declared = inputs.settings_of(args, ground)
    curves = []
    for crop, lot in bench.lots:
        counts = [c for c in bench.counts if (c.crop, c.seed_lot) == (crop, lot)]
        curves.append((crop, lot, setting_curve(counts, declared)))
    if args.json:
        body = {
            "curves": [curve_dict(*c) for c in curves],
            "notices": notice_dicts(bench.notices),
        }
        print(as_text("bench", body))
        return 0
    blocks: list[Table | Sentences] = []
    for crop, lot, curve in curves:
        blocks += [
            bench_table(crop, lot, curve),
            Sentences(title="What they say", sentences=bench_sentences(curve)),
        ]
    inputs.show([*blocks, *inputs.notice_block(bench.notices)])
    return 0
