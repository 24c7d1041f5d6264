"""What the options of the seed commands ask for: the ground per turn, the crops, the choice."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from ..core.errors import InputError

if TYPE_CHECKING:
    from ..app.crops import CropsRequest
    from ..app.seeding import ChooseRequest
    from ..core.result import Result
    from ..core.run import UnitSystem
    from ..seeding import GroundFigure


def result_of(args: argparse.Namespace) -> Result | None:
    """The result that --result names, if it does."""
    from ..io import read_result

    return None if args.result is None else read_result(args.result)


def units_of(args: argparse.Namespace, result: Result | None = None) -> UnitSystem:
    """Units to show: as asked, else as in the result, else metric."""
    if args.units:
        units: UnitSystem = args.units
        return units
    return result.units if result else "metric"


def settings_of(args: argparse.Namespace) -> tuple[str, ...]:
    """The order of the settings as typed, empty where it is not."""
    return tuple(s.strip() for s in (args.settings or "").split(",") if s.strip())


def ground_of(args: argparse.Namespace, result: Result | None) -> GroundFigure:
    """The ground per turn, of the result or typed."""
    from ..core.units import parse_length_measured
    from ..seeding import GroundFigure, figure_of

    if (result is None) == (args.ground_per_turn is None):
        raise InputError("give the ground per turn, either --result or --ground-per-turn")
    if result is not None:
        return figure_of(result)
    typed = parse_length_measured(args.ground_per_turn, what="--ground-per-turn")
    return GroundFigure(ground_per_turn=typed, ground_per_turn_95=typed.interval())


def crops_of(args: argparse.Namespace, units: UnitSystem) -> CropsRequest:
    """The crops wanted; plants per bed are per foot in US units, else per metre."""
    from ..app.crops import CropsRequest
    from ..core.units import FOOT, parse_length
    from ..io.sheets.crops import parse_accept, parse_rate

    def length(name: str) -> float | None:
        text = getattr(args, name)
        option = "--" + name.replace("_", "-")
        return None if text is None else parse_length(text, what=option, above_zero=True)

    per_bed, per_gram = args.plants_per_bed, args.seeds_per_gram
    bed_m = FOOT.value if units == "us" else 1.0
    return CropsRequest(
        sheet=args.crops,
        name=args.crop,
        spacing_m=length("spacing"),
        plants_per_bed_m=None if per_bed is None else per_bed / bed_m,
        rate_kg_m2=None if args.rate is None else parse_rate(args.rate, what="--rate"),
        row_spacing_m=length("row_spacing"),
        seeds_per_kg=None if per_gram is None else per_gram * 1000,
        lines=args.lines,
        germination=args.germination,
        germination_tested=args.germination_tested,
        field_emergence=args.emergence,
        accept_per_m=parse_accept(args.accept) if args.accept else None,
        depth_m=length("depth"),
        stands=args.stands,
    )


def choice_of(args: argparse.Namespace, ground: GroundFigure, units: UnitSystem) -> ChooseRequest:
    """The crops and the bench counts to choose their settings from."""
    from ..app.seeding import ChooseRequest
    from ..core.units import parse_speed

    speed = args.speed
    return ChooseRequest(
        ground=ground,
        crops=crops_of(args, units),
        bench=args.bench,
        settings=settings_of(args),
        turns=args.turns,
        as_typed=args.as_typed,
        speed_m_s=None if speed is None else parse_speed(speed, what="--speed", above_zero=True),
    )
