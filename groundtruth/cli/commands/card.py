"""`groundtruth card`: one sheet for the pocket with the setting and the count to expect."""

from __future__ import annotations

import argparse
from datetime import date
from pathlib import Path

from ...core.errors import InputError
from ...core.language import say
from ..output import show_json, tell
from ..seed_requests import choice_of, ground_of, result_of, units_of
from ..typed import day_of
from . import seed_options as options
from .output_options import add_overwrite

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
    from dataclasses import replace

    from ...app.card import CardRequest, card_for
    from ...io.writing import write_whole
    from ...views import card_html, card_text
    from ...views.json.documents import card_document

    result = result_of(args)
    ground, units = ground_of(args, result), units_of(args, result)
    if args.measured_on is not None:
        if ground.measured_on is not None:
            raise InputError("--measured-on: the result says when it was measured; leave it out")
        ground = replace(ground, measured_on=day_of(args.measured_on, "--measured-on"))
    changed = args.wheel_changed
    card, found = card_for(
        CardRequest(
            choose=choice_of(args, ground, units),
            made_on=date.today(),  # noqa: DTZ011  the day on the grower's own calendar
            units=units,
            wheel_changed_on=None if changed is None else day_of(changed, "--wheel-changed"),
            record=_record(args),
            seeder=args.seeder,
            print_stale=args.print_stale,
        )
    )
    if args.json:
        show_json("card", card_document(card, found.choices, found.notices, ground))
        return 0
    if args.text:
        print(card_text(card), end="")
    else:
        write_whole(args.out, card_html(card), overwrite=args.overwrite)
        tell(say("Written: {files}", files=args.out))
    for notice in found.notices:
        tell(f"groundtruth: {notice.said}", aside=True)
    return 0


def _record(args: argparse.Namespace) -> Path | None:
    """The season's record: the one that is named, else the usual one where there is one."""
    from ...season import season_path

    record = season_path(args.season)
    return record if args.season is not None or record.is_file() else None
