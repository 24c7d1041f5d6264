"""What the options of the seed commands stand for: figures, crops, curves and choices."""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from ..core.errors import InputError

if TYPE_CHECKING:
    from ..core.crops import Crop
    from ..core.measured import Measured
    from ..core.notices import Notice
    from ..core.result import Result
    from ..core.run import UnitSystem
    from ..io.sheets.bench import Bench
    from ..seeding import SettingCurve
    from ..seeding.ground_figure import GroundFigure
    from ..seeding.setting_choice import Choice
    from ..views.tables.result import Table
    from ..views.terminal import Sentences


def settings_of(args: argparse.Namespace, ground: GroundFigure | None = None) -> tuple[str, ...]:
    """The order of the settings: as typed, else as the result's seeder has it, else empty."""
    if args.settings is None:
        return ground.settings if ground else ()
    return tuple(s.strip() for s in args.settings.split(",") if s.strip())


def result_of(args: argparse.Namespace) -> Result:
    """The result that --result names; its units are shown unless others are asked for."""
    from ..io.files import MAX_TRACK_BYTES, read_file
    from ..io.result_json import result_from_json

    if args.result is None:
        raise InputError("give --result RESULT.json")
    data, file = read_file(args.result, error=InputError, what="result", limit=MAX_TRACK_BYTES)
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        raise InputError(
            f"{file.name}: is no text; give the result.json that groundtruth measure wrote"
        ) from None
    result = result_from_json(text, file.name)
    if args.units is None:
        args.units = result.units
    return result


def ground_of(args: argparse.Namespace) -> GroundFigure:
    """The ground per turn that the options name."""
    from ..core.units import parse_length_measured
    from ..seeding.ground_figure import GroundFigure, figure_of

    if (args.result is None) == (args.ground_per_turn is None):
        raise InputError("give the ground per turn, either --result or --ground-per-turn")
    if args.result is not None:
        return figure_of(result_of(args))
    typed = parse_length_measured(args.ground_per_turn, what="--ground-per-turn")
    return GroundFigure(ground_per_turn=typed, ground_per_turn_95=typed.interval())


def units_of(args: argparse.Namespace) -> UnitSystem:
    """Units to show: as asked, as in the result, else metric."""
    return "us" if args.units == "us" else "metric"


_WAYS = ("spacing", "plants_per_bed", "rate")


def crops_of(args: argparse.Namespace, ground: GroundFigure | None) -> list[Crop]:
    """The crops wanted: from the sheet, from the options, or from the result."""
    from ..io.sheets.crops import read_crops
    from ..seeding.stand_emergence import with_emergence

    typed = [name for name in _WAYS if getattr(args, name) is not None]
    if args.crops is not None:
        if typed:
            option = "--" + typed[0].replace("_", "-")
            raise InputError(f"{option}: the crop sheet says what is wanted; leave one out")
        crops = _of_crop(args.crop, list(read_crops(args.crops).crops))
    elif typed:
        crops = [_typed_crop(args, typed)]
    else:
        known = ground.crops if ground else ()
        crops = _of_crop(args.crop, [_with_options(c, args) for c in known])
    if not crops:
        raise InputError("nothing is wanted yet; give --spacing or a crop sheet (--crops)")
    if args.stands is not None:
        crops = with_emergence(crops, _emergence_of(args.stands, crops))
    return crops


def _of_crop(name: str, crops: list[Crop]) -> list[Crop]:
    if not name or not crops:
        return crops
    named = [c for c in crops if c.name.casefold() == name.casefold()]
    if not named:
        known = ", ".join(dict.fromkeys(c.name for c in crops))
        raise InputError(f"--crop {name}: not among the crops wanted ({known})")
    return named


def _typed_crop(args: argparse.Namespace, given: list[str]) -> Crop:
    from ..core.crops import (
        Crop,
        exact_share,
        germination_from_test,
        plants_per_metre,
        plants_per_metre_from_bed,
        seeds_per_metre_from_rate,
    )
    from ..core.units import FOOT, parse_length
    from ..io.sheets.crops import parse_accept, parse_rate

    if len(given) > 1:
        raise InputError(f"give one of --{' and --'.join(given).replace('_', '-')}, not both")
    lines = 1 if args.lines is None else args.lines
    plants_per_m = seeds_per_m = None
    if args.spacing is not None:
        spacing_m = parse_length(args.spacing, what="--spacing", above_zero=True)
        plants_per_m = plants_per_metre(spacing_m)
    elif args.plants_per_bed is not None:
        length_m = FOOT.value if args.units == "us" else 1.0
        plants_per_m = plants_per_metre_from_bed(args.plants_per_bed / length_m, lines)
    else:
        if args.row_spacing is None or args.seeds_per_gram is None:
            raise InputError("--rate needs --row-spacing and --seeds-per-gram too")
        seeds_per_m = seeds_per_metre_from_rate(
            parse_rate(args.rate, what="--rate"),
            args.seeds_per_gram * 1000,
            parse_length(args.row_spacing, what="--row-spacing", above_zero=True),
        )
    share = 1.0 if args.germination is None else args.germination
    return Crop(
        name=args.crop,
        plants_per_m=plants_per_m,
        seeds_per_m=seeds_per_m,
        germination=germination_from_test(share, args.germination_tested),
        field_emergence=exact_share(
            "field_emergence", 1.0 if args.emergence is None else args.emergence
        ),
        accept=parse_accept(args.accept) if args.accept else None,
        lines=lines,
        seeds_per_kg=_seeds_per_kg(args),
        depth_m=parse_length(args.depth, what="--depth", above_zero=True) if args.depth else None,
    )


def _seeds_per_kg(args: argparse.Namespace) -> Measured | None:
    from ..core.measured import Measured

    if args.seeds_per_gram is None:
        return None
    if not args.seeds_per_gram > 0:
        raise InputError(f"--seeds-per-gram is {args.seeds_per_gram:g}; it must be above 0")
    return Measured(args.seeds_per_gram * 1000)


def _with_options(crop: Crop, args: argparse.Namespace) -> Crop:
    """A crop of the result; options fill in what a run file does not hold."""
    from dataclasses import replace

    from ..core.crops import exact_share, germination_from_test
    from ..core.units import parse_length
    from ..io.sheets.crops import parse_accept

    germination, emergence = crop.germination, crop.field_emergence
    if args.germination is not None or args.germination_tested:
        share = germination.value if args.germination is None else args.germination
        germination = germination_from_test(share, args.germination_tested)
    if args.emergence is not None:
        emergence = exact_share("field_emergence", args.emergence)
    return replace(
        crop,
        germination=germination,
        field_emergence=emergence,
        accept=parse_accept(args.accept) if args.accept else crop.accept,
        lines=crop.lines if args.lines is None else args.lines,
        seeds_per_kg=_seeds_per_kg(args) or crop.seeds_per_kg,
        depth_m=parse_length(args.depth, what="--depth", above_zero=True)
        if args.depth
        else crop.depth_m,
    )


def _emergence_of(path: Path, crops: Sequence[Crop]) -> dict[tuple[str, str], Measured]:
    """Field emergence by crop and lot from the stand counts, 1 at most."""
    from ..core.crops import ALL
    from ..core.measured import Measured
    from ..io.sheets.stands import read_stands
    from ..seeding.stand_emergence import emergence

    stands = read_stands(path)
    found = {}
    for crop, lot in stands.lots:
        germination = next(
            (c.germination for c in crops if c.name.casefold() == crop.casefold()), ALL
        )
        share = emergence(stands.of(crop, lot), germination=germination).field_emergence
        found[crop.casefold(), lot.casefold()] = Measured(min(share.value, 1.0), share.std)
    return found


def curve_for(bench: Bench, crop: Crop, declared: tuple[str, ...]) -> SettingCurve:
    """The curve of a crop's catches; of its seed lot where the sheet has that lot.

    A sheet that names no crop serves every crop.
    """
    from ..seeding import setting_curve

    counts = bench.of(crop.name, crop.seed_lot) or bench.of(crop.name) or bench.of("")
    if not counts:
        known = ", ".join(dict.fromkeys(c.crop for c in bench.counts))
        raise InputError(
            f"{bench.file.name}: no catch of {crop.name or 'an unnamed crop'}; it holds {known}"
        )
    lots = dict.fromkeys(c.seed_lot for c in counts)
    if len(lots) > 1:
        raise InputError(
            f"{bench.file.name}: catches of {crop.name} from several seed lots "
            f"({', '.join(lots)}); name the lot in the crop sheet"
        )
    return setting_curve(counts, declared)


def choices_of(
    args: argparse.Namespace, ground: GroundFigure, crops: Sequence[Crop]
) -> tuple[list[Choice], tuple[Notice, ...]]:
    """A choice for every crop wanted, from the bench sheet, and what was noticed."""
    from ..io.sheets.bench import read_bench
    from ..seeding import turning_notices
    from ..seeding.setting_choice import choose

    bench = read_bench(args.bench)
    declared = settings_of(args, ground)
    choices = [
        choose(crop, ground.ground_per_turn, curve_for(bench, crop, declared), turns=args.turns)
        for crop in crops
    ]
    notices = list(bench.notices)
    if rate := field_turns_of(args, ground):
        notices += turning_notices(bench.counts, rate)
    return choices, tuple(notices)


def field_turns_of(args: argparse.Namespace, ground: GroundFigure) -> float | None:
    """Gear turns a minute at the field speed that --speed gives, None without it."""
    from ..core.units import parse_speed
    from ..seeding import turns_per_minute

    if args.speed is None:
        return None
    speed = parse_speed(args.speed, what="--speed", above_zero=True)
    return turns_per_minute(speed, ground.ground_per_turn.value)


def day_of(text: str, option: str) -> date:
    """A day written 2026-05-12."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise InputError(f"{option}: {text!r} is no day; write it as in 2026-05-12") from None


def show(blocks: Iterable[Table | Sentences]) -> None:
    """Print tables and sentences."""
    from rich.console import Console

    from ..views.terminal import print_blocks

    print_blocks(blocks, Console())


def notice_block(notices: Iterable[Notice]) -> list[Sentences]:
    """Warnings and repairs as a block, none where there are none."""
    from ..views.tables.result import notice_lines
    from ..views.terminal import Sentences

    lines = notice_lines(notices)
    return [Sentences(title="Look at this", sentences=lines, warning=True)] if lines else []
