"""`groundtruth stand`: field emergence from counted plants, for the next target."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from ...app import seeding as inputs
from ...core.errors import InputError
from . import seed_options as options

if TYPE_CHECKING:
    from ...views.tables.result import Table

HELP = "say what share of the seeds came up, by crop and seed lot, from counted stands"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `stand`."""
    parser.add_argument(
        "stands",
        metavar="STANDS.csv",
        type=Path,
        help="stand counts: date,crop,seed_lot,bed,line,length,plants[,seeds_per_metre]",
    )
    parser.add_argument(
        "--seeds-per-metre", metavar="NUMBER", help='seeds dropped, "33" or "33 ± 2"'
    )
    parser.add_argument("--seeds-per-foot", metavar="NUMBER", help="the same per foot")
    parser.add_argument(
        "--germination", metavar="SHARE", type=float, default=1.0, help="share that germinates"
    )
    parser.add_argument(
        "--germination-tested", metavar="NUMBER", type=float, help="seeds in the germination test"
    )
    options.add_output(parser)


def run(args: argparse.Namespace) -> int:
    """Read, compute, print."""
    from ...core.crops import germination_from_test
    from ...core.units import FOOT
    from ...io.sheets.rows import Row
    from ...io.sheets.stands import read_stands
    from ...seeding.stand_emergence import emergence
    from ...views.json.seeding import as_text, emergence_dict, notice_dicts
    from ...views.sentences.seeding import emergence_sentences
    from ...views.tables.seeding import emergence_table
    from ...views.terminal import Sentences

    stands = read_stands(args.stands)
    if not 0 < args.germination <= 1:
        share = args.germination
        hint = f"; write {share / 100:g} for {share:g} %" if 1 < share <= 100 else ""
        raise InputError(f"--germination is {share:g}; a share above 0 and up to 1{hint}")
    dropped = None
    for option, metres in (("seeds_per_metre", 1.0), ("seeds_per_foot", FOOT.value)):
        if text := getattr(args, option):
            cell = Row("--" + option.replace("_", "-"), 1, {option: text}, {}).with_limits(option)
            dropped = cell and cell.scaled(1 / metres)
    found = [
        emergence(
            stands.of(crop, lot),
            germination=germination_from_test(args.germination, args.germination_tested),
            seeds_per_m=dropped,
        )
        for crop, lot in stands.lots
    ]
    if args.json:
        body = {
            "emergence": [emergence_dict(e) for e in found],
            "notices": notice_dicts(stands.notices),
        }
        print(as_text("stand", body))
        return 0
    blocks: list[Table | Sentences] = [emergence_table(found, inputs.units_of(args))]
    if sentences := emergence_sentences(found):
        blocks.append(Sentences(title="Mind", sentences=sentences))
    inputs.show([*blocks, *inputs.notice_block(stands.notices)])
    return 0
