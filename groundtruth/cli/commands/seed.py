"""`groundtruth seed`: how much seed some beds need, and whether the bag holds enough."""

from __future__ import annotations

import argparse
from pathlib import Path

from ...core.errors import InputError
from ...core.language import say
from ..output import notice_block, show, show_json
from ..seed_requests import crops_of, ground_of, result_of, settings_of, units_of
from . import seed_options as options

HELP = "say how much seed a list of beds needs, and whether the bag holds enough"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `seed`."""
    parser.add_argument(
        "lengths", metavar="LENGTH", nargs="*", help='lengths of the beds, "40 m" "132 ft"'
    )
    parser.add_argument(
        "--beds", metavar="BEDS.csv", type=Path, help="bed sheet: bed,length[,lines][,crop]"
    )
    parser.add_argument(
        "--from-run", action="store_true", help="the passes of --result are the beds"
    )
    options.add_ground(parser)
    options.add_crops(parser)
    parser.add_argument(
        "--loss",
        metavar="SHARE",
        type=float,
        default=0.0,
        help="share spilled or on headlands",
    )
    parser.add_argument(
        "--left-in-hopper", metavar="WEIGHT", help="seed that must stay in all hoppers together"
    )
    parser.add_argument("--in-bag", metavar="WEIGHT", help="seed at hand: is it enough?")
    parser.add_argument(
        "--bench",
        metavar="BENCH.csv",
        type=Path,
        help="reckon with what the chosen setting drops, not with what is wanted",
    )
    options.add_settings(parser)
    options.add_output(parser)


def run(args: argparse.Namespace) -> int:
    """Compute and print."""
    from ...app.seed_need import SeedNeedRequest, seed_needs_for
    from ...core.units import parse_length, parse_mass
    from ...views.blocks import Sentences
    from ...views.json.documents import seed_document
    from ...views.sentences.amounts import crop_name
    from ...views.sentences.seeding import need_sentences

    result = result_of(args)
    units = units_of(args, result)
    if args.from_run and result is None:
        raise InputError("give --result RESULT.json")
    ground = None
    if result is not None or args.ground_per_turn is not None or args.bench is not None:
        ground = ground_of(args, result)
    left, bag = args.left_in_hopper, args.in_bag
    found, notices = seed_needs_for(
        SeedNeedRequest(
            crops=crops_of(args, units),
            lengths_m=tuple(
                parse_length(text, what="length of a bed", above_zero=True) for text in args.lengths
            ),
            bed_sheet=args.beds,
            run=result if args.from_run else None,
            ground=ground,
            loss=args.loss,
            left_in_hopper_kg=parse_mass(left, what="--left-in-hopper") if left else 0.0,
            in_bag_kg=parse_mass(bag, what="--in-bag") if bag else None,
            bench=args.bench,
            settings=settings_of(args),
        )
    )
    if args.json:
        show_json("seed", seed_document(((one.crop, one.need) for one in found), notices))
        return 0
    blocks = [
        Sentences(
            title=say("Seed: {crop}", crop=crop_name(one.crop.name, one.crop.seed_lot)),
            sentences=need_sentences(one.need, units),
        )
        for one in found
    ]
    show([*blocks, *notice_block(notices)])
    return 0
