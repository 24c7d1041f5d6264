"""`groundtruth plan`: how many passes, how long and which way, before going out."""

from __future__ import annotations

import argparse
from pathlib import Path

from ...core.language import say
from ..output import show, show_json
from ..typed import share_of
from . import seed_options as options

HELP = "say before going out how many passes to count, which way, and whether to take a tape"

PHONES = ("calm", "ordinary", "drifting", "rough", "bad", "with-speed", "centimetre")
ASSUMED_GROUND_M = 0.6


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `plan`."""
    phone = parser.add_argument_group("the phone, one of").add_mutually_exclusive_group()
    phone.add_argument("--phone", choices=PHONES, help="a kind of phone (default: ordinary)")
    phone.add_argument(
        "--track",
        metavar="TRACK",
        type=Path,
        nargs="+",
        help="a track of five minutes, standing or on straight passes, to fit the noise to",
    )
    parser.add_argument("--bed-length", metavar="LENGTH", required=True, help='"100 m", "300 ft"')
    parser.add_argument("--speed", metavar="SPEED", required=True, help='"3 km/h", "2 mph"')
    parser.add_argument(
        "--count",
        choices=("whole", "tenth", "each"),
        default="whole",
        help="how turns are counted: whole turns read at both ends, read to a tenth of a turn, "
        "or each turn timed by a switch (default: whole)",
    )
    parser.add_argument(
        "--ground-per-turn", metavar="LENGTH", help='roughly, "2 ft", "60 cm" (default: 60 cm)'
    )
    parser.add_argument(
        "--ends",
        choices=("stand", "instants", "rolling"),
        default="stand",
        help="standing still at both ends, or lifting on the move with or without the times "
        "written down (default: stand)",
    )
    parser.add_argument("--one-way", action="store_true", help="count one direction only")
    parser.add_argument(
        "--within",
        metavar="PERCENT",
        default="1 %",
        help="how sure the figure shall be: 95 %% sure within this (default: 1 %%)",
    )
    parser.add_argument(
        "--passes", metavar="NUMBER", type=int, help="say too what this many passes give"
    )
    parser.add_argument(
        "--turn", metavar="SECONDS", type=float, default=40.0, help="time of a headland turn"
    )
    parser.add_argument(
        "--spread",
        metavar="PERCENT",
        default="0.65 %",
        help="how much the ground per turn changes from pass to pass (default: 0.65 %%)",
    )
    parser.add_argument("--time-zone", metavar="NAME", help="for track times without zone")
    options.add_output(parser)


def run(args: argparse.Namespace) -> int:
    """Plan and print."""
    from ...app.planning import PlanRequest, plan_for
    from ...core.units import parse_length, parse_speed
    from ...planning import Design
    from ...views.blocks import Sentences
    from ...views.json.planning import plan_dict
    from ...views.sentences.planning import plan_advice, plan_answer, plan_title
    from ...views.tables.planning import ways_table

    ground_m = ASSUMED_GROUND_M
    if args.ground_per_turn is not None:
        ground_m = parse_length(args.ground_per_turn, what="--ground-per-turn", above_zero=True)
    design = Design(
        bed_length_m=parse_length(args.bed_length, what="--bed-length", above_zero=True),
        speed_m_s=parse_speed(args.speed, what="--speed", above_zero=True),
        counting=args.count,
        ground_per_turn_m=ground_m,
        ends=args.ends,
        one_way=args.one_way,
        turn_s=args.turn,
        spread=share_of(args.spread, "--spread"),
    )
    plan = plan_for(
        PlanRequest(
            design=design,
            within=share_of(args.within, "--within"),
            phone=args.phone or "ordinary",
            track=tuple(args.track or ()),
            time_zone=args.time_zone,
            passes=args.passes,
        )
    )
    if args.json:
        show_json("plan", plan_dict(plan))
        return 0
    show(
        [
            Sentences(
                title=plan_title(plan, args.units or "metric"),
                sentences=plan_answer(plan),
                strong=1,
            ),
            ways_table(plan),
            Sentences(title=say("What to do"), sentences=plan_advice(plan)),
        ]
    )
    return 0
