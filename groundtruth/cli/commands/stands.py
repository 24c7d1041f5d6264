"""`groundtruth stands`: field emergence from counted plants, for the next target."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from ...core.language import say
from ..output import notice_block, show, show_json
from ..seed_requests import units_of
from . import seed_options as options

if TYPE_CHECKING:
    from ...core.measured import Measured
    from ...views.blocks import Table

HELP = "say what share of the seeds came up, by crop and seed lot, from counted stands"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `stands`."""
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
    options.add_date_order(parser)
    options.add_as_typed(parser)
    options.add_output(parser)


def run(args: argparse.Namespace) -> int:
    """Read, compute, print."""
    from ...app.stands import StandsRequest, emergence_for
    from ...views.blocks import Sentences
    from ...views.json.documents import stands_document
    from ...views.sentences.seeding import emergence_sentences
    from ...views.tables.seeding import emergence_table

    found, notices = emergence_for(
        StandsRequest(
            stands=args.stands,
            seeds_per_m=_dropped(args),
            germination=args.germination,
            germination_tested=args.germination_tested,
            date_order=options.date_order_of(args),
            as_typed=args.as_typed,
        )
    )
    if args.json:
        show_json("stands", stands_document(found, notices))
        return 0
    blocks: list[Table | Sentences] = [emergence_table(found, units_of(args))]
    if sentences := emergence_sentences(found):
        blocks.append(Sentences(title=say("Mind"), sentences=sentences))
    show([*blocks, *notice_block(notices)])
    return 0


def _dropped(args: argparse.Namespace) -> Measured | None:
    """Seeds dropped per metre, where they are typed."""
    from ...core.units import FOOT
    from ...io.sheets.rows import Row

    dropped = None
    for option, metres in (("seeds_per_metre", 1.0), ("seeds_per_foot", FOOT.value)):
        if text := getattr(args, option):
            cell = Row("--" + option.replace("_", "-"), 1, {option: text}, {}).with_limits(option)
            dropped = cell and cell.scaled(1 / metres)
    return dropped
