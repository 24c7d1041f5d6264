"""`groundtruth turning`: how fast the field turns the gear, to turn the bench alike."""

from __future__ import annotations

import argparse

from ...core.language import say
from ..output import show, show_json
from ..seed_requests import ground_of, result_of
from . import seed_options as options

HELP = "say how fast to turn the gear at the bench for a field speed"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `turning`."""
    parser.add_argument("--speed", metavar="SPEED", required=True, help='"3 km/h", "2 mph"')
    options.add_ground(parser)
    options.add_output(parser)


def run(args: argparse.Namespace) -> int:
    """Compute and print."""
    from ...app.seeding import turning_for
    from ...core.units import parse_speed
    from ...views.blocks import Sentences
    from ...views.json.documents import turning_document
    from ...views.sentences.seeding import turning_sentence

    ground = ground_of(args, result_of(args))
    speed_m_s = parse_speed(args.speed, what="--speed", above_zero=True)
    rate = turning_for(ground, speed_m_s)
    if args.json:
        show_json("turning", turning_document(ground, speed_m_s, rate))
        return 0
    show([Sentences(title=say("Turning speed"), sentences=(turning_sentence(rate),))])
    return 0
