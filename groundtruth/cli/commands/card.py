"""`groundtruth card`: one sheet for the pocket with the setting and the count to expect."""

from __future__ import annotations

import argparse
import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from ...app import seeding as inputs
from . import seed_options as options
from .output_options import add_overwrite

if TYPE_CHECKING:
    from ...seeding.ground_figure import WheelChange

HELP = "make the card for the pocket: setting, turns, seeds to expect, crop by crop"

FILE = "card.html"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `card`."""
    options.add_bench_options(parser)
    options.add_settings(parser)
    options.add_ground(parser)
    options.add_crops(parser)
    parser.add_argument(
        "--measured-on",
        metavar="DATE",
        help="day on which a typed ground per turn was measured, 2026-05-12",
    )
    parser.add_argument(
        "--wheel-changed",
        metavar="DATE",
        help="day of the last change of tyre or drive wheel, besides those in the season's record; "
        "an older figure gets no card",
    )
    parser.add_argument(
        "--season",
        metavar="FILE",
        type=Path,
        help="the season's record (default: the usual one, where there is one)",
    )
    parser.add_argument(
        "--seeder",
        metavar="NAME",
        default="",
        help="heed changes of this seeder in the record only",
    )
    parser.add_argument(
        "--print-stale",
        action="store_true",
        help="make the card all the same, with the warning in large type",
    )
    parser.add_argument(
        "--out", metavar="FILE", type=Path, default=Path(FILE), help=f"the page (default: {FILE})"
    )
    add_overwrite(parser)
    parser.add_argument("--text", action="store_true", help="print the card as text, write no page")
    options.add_output(parser)


def run(args: argparse.Namespace) -> int:
    """Choose, write the card, say where it is."""
    from dataclasses import asdict, replace

    from ...core.errors import InputError
    from ...io.writing import write_whole
    from ...views.card import card_html, card_text, make_card
    from ...views.json.seeding import as_text, choice_dict, ground_dict, notice_dicts

    ground = inputs.ground_of(args)
    if args.measured_on is not None:
        if ground.measured_on is not None:
            raise InputError("--measured-on: the result says when it was measured; leave it out")
        ground = replace(ground, measured_on=inputs.day_of(args.measured_on, "--measured-on"))
    crops = inputs.crops_of(args, ground)
    choices, notices = inputs.choices_of(args, ground, crops)
    card = make_card(
        choices,
        ground,
        made_on=date.today(),  # noqa: DTZ011  the day on the grower's own calendar
        units=inputs.units_of(args),
        change=_last_change(args),
        print_stale=args.print_stale,
        field_turns_per_minute=inputs.field_turns_of(args, ground),
    )
    if args.json:
        body = {
            **ground_dict(ground),
            "card": asdict(card),
            "choices": [choice_dict(c, ground) for c in choices],
            "notices": notice_dicts(notices),
        }
        print(as_text("card", body))
        return 0
    if args.text:
        print(card_text(card), end="")
    else:
        write_whole(args.out, card_html(card), overwrite=args.overwrite)
        print(f"Written: {args.out}")
    for notice in notices:
        print(f"groundtruth: {notice}", file=sys.stderr)
    return 0


def _last_change(args: argparse.Namespace) -> WheelChange | None:
    """The last change of wheel or tyre that is typed in or on record."""
    from ...season import season_path
    from ...season.query import WHEEL_CHANGES, read_season
    from ...seeding.ground_figure import WheelChange

    found = []
    if args.wheel_changed is not None:
        found.append(WheelChange(day=inputs.day_of(args.wheel_changed, "--wheel-changed")))
    record = season_path(args.season)
    if args.season is not None or record.is_file():
        words = {"wheel": "drive wheel", "gear": "gearing", "pressure": "tyre pressure"}
        found += [
            WheelChange(day=date.fromisoformat(c.day), what=words.get(c.kind, c.kind))
            for c in read_season(record).changes
            if c.kind in WHEEL_CHANGES and (not args.seeder or c.seeder in ("", args.seeder))
        ]
    return max(found, key=lambda c: c.day, default=None)
