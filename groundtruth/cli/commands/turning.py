"""`groundtruth turning`: how fast the field turns the gear, to turn the bench alike."""

from __future__ import annotations

import argparse

from ...app import seeding as inputs
from ...core.errors import InputError
from . import seed_options as options

HELP = "say how fast to turn the gear at the bench for a field speed"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `turning`."""
    parser.add_argument("--speed", metavar="SPEED", required=True, help='"3 km/h", "2 mph"')
    options.add_ground(parser)
    options.add_output(parser)


def run(args: argparse.Namespace) -> int:
    """Compute and print."""
    from ...core.units import parse_speed
    from ...seeding import turns_per_minute
    from ...views.json.seeding import as_text, ground_dict
    from ...views.sentences.seeding import turning_sentence
    from ...views.terminal import Sentences

    ground = inputs.ground_of(args)
    speed_m_s = parse_speed(args.speed, what="--speed", above_zero=True)
    rate = turns_per_minute(speed_m_s, ground.ground_per_turn.value)
    if rate > 1000:
        raise InputError(f"{rate:.0f} turns a minute; check speed and ground per turn")
    if args.json:
        body = {**ground_dict(ground), "speed_m_s": speed_m_s, "turns_per_minute": rate}
        print(as_text("turning", body))
        return 0
    inputs.show([Sentences(title="Turning speed", sentences=(turning_sentence(rate),))])
    return 0
