"""`groundtruth seed`: how much seed some beds need, and whether the bag holds enough."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from ...app import seeding as inputs
from ...core.errors import InputError
from . import seed_options as options

if TYPE_CHECKING:
    from ...core.beds import Bed
    from ...core.crops import Crop
    from ...core.measured import Measured
    from ...seeding.ground_figure import GroundFigure

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
    from ...core.units import parse_mass
    from ...seeding.seed_need import seed_needed
    from ...views.json.seeding import as_text, crop_dict, need_dict
    from ...views.sentences.seeding import crop_name, need_sentences
    from ...views.terminal import Sentences

    ground = None
    if args.result is not None or args.ground_per_turn is not None or args.bench is not None:
        ground = inputs.ground_of(args)
    crops = inputs.crops_of(args, ground)
    left = parse_mass(args.left_in_hopper, what="--left-in-hopper") if args.left_in_hopper else 0.0
    bag = parse_mass(args.in_bag, what="--in-bag") if args.in_bag else None
    if bag is not None and len(crops) > 1:
        raise InputError("--in-bag: the bag of which crop? Name it with --crop")
    needs = [
        (
            crop,
            seed_needed(
                _beds(args, crop),
                _seeds_per_m(args, crop, ground),
                seeds_per_kg=crop.seeds_per_kg,
                loss=args.loss,
                left_in_hopper_kg=left,
                in_bag_kg=bag,
            ),
        )
        for crop in crops
    ]
    if args.json:
        needed = [{**crop_dict(crop), **need_dict(need)} for crop, need in needs]
        print(as_text("seed", {"needed": needed}))
        return 0
    units = inputs.units_of(args)
    inputs.show(
        Sentences(
            title=f"Seed: {crop_name(crop.name, crop.seed_lot)}",
            sentences=need_sentences(need, units),
        )
        for crop, need in needs
    )
    return 0


def _beds(args: argparse.Namespace, crop: Crop) -> tuple[Bed, ...]:
    from ...core.beds import Bed
    from ...core.units import parse_length
    from ...io.sheets.bed_lengths import read_beds
    from ...seeding.seed_need import beds_of

    ways = [bool(args.lengths), args.beds is not None, args.from_run]
    if sum(ways) != 1:
        raise InputError("name the beds one way: lengths, --beds BEDS.csv, or --from-run")
    if args.lengths:
        return tuple(
            Bed(
                name=str(i + 1),
                length_m=parse_length(text, what="length of a bed", above_zero=True),
                lines=crop.lines,
            )
            for i, text in enumerate(args.lengths)
        )
    if args.beds is not None:
        beds = read_beds(args.beds, crop=crop.name, lines=crop.lines)
    else:
        result = inputs.result_of(args)
        beds = beds_of(result, crop=crop.name, lines=crop.lines if crop.lines > 1 else None)
    if not beds:
        raise InputError(f"no bed of {crop.name} among those given")
    return beds


def _seeds_per_m(args: argparse.Namespace, crop: Crop, ground: GroundFigure | None) -> Measured:
    from ...io.sheets.bench import read_bench
    from ...seeding.setting_choice import choose

    if args.bench is None or ground is None:
        return crop.seeds_wanted_per_m
    curve = inputs.curve_for(read_bench(args.bench), crop, inputs.settings_of(args, ground))
    return choose(crop, ground.ground_per_turn, curve).option.seeds_per_m
