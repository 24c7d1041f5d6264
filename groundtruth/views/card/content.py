"""What stands on the card, as text ready to be set on a page or in the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from ...core.display import day_text, ground_scale
from ...core.errors import InputError
from ...core.run import UnitSystem
from ...core.safe_text import visible
from ...core.units import INCH, format_length
from ...seeding.ground_figure import GroundFigure, StaleFigureError, WheelChange, doubt_after
from ...seeding.setting_choice import Choice
from ..sentences.cautions import field_checks
from ..sentences.seeding import (
    crop_name,
    density,
    spacing_in_bed,
    stand_range,
    thinning,
    turning_sentence,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CardCrop:
    """One crop's lines. ``setting``, ``turns``, ``seeds`` and ``expected`` are the large ones."""

    name: str
    setting: str
    turns: str  # "5"
    seeds: tuple[str, str]  # "118", "146"
    expected: str  # "132"
    in_bed: tuple[tuple[str, str], ...]  # (what, figure) pairs
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """The whole card. ``alarm`` is empty unless the ground per turn must not be trusted."""

    title: str
    made_on: str
    rests_on: str
    crops: tuple[CardCrop, ...]
    alarm: str
    notes: tuple[str, ...]


def make_card(
    choices: Sequence[Choice],
    ground: GroundFigure,
    *,
    made_on: date,
    units: UnitSystem,
    change: WheelChange | None = None,
    print_stale: bool = False,
    field_turns_per_minute: float | None = None,
) -> Card:
    """The card for these choices; with the field's turning speed where that is known.

    Raises
    ------
    StaleFigureError : the ground per turn is older than the change of wheel or tyre, and
        ``print_stale`` does not ask for a card that says so.
    InputError : there is no choice.
    """
    if not choices:
        raise InputError("no crop to print a card for")
    stale = _doubt(ground, change)
    if stale and not print_stale:
        raise StaleFigureError(
            f"{stale[0].upper()}{stale[1:]}. No card is printed; add --print-stale for a card that "
            "says so in large type."
        )
    return Card(
        title=visible(ground.run_name, 60) or "Seeder settings",
        made_on=day_text(made_on.isoformat()),
        rests_on=_rests_on(ground, units, change),
        crops=tuple(_crop(choice, units) for choice in choices),
        alarm=f"Do not trust this card: {stale}." if stale else "",
        notes=(
            "Fill the hopper, turn until seed falls evenly, then count.",
            turning_sentence(field_turns_per_minute)
            if field_turns_per_minute
            else "Turn as fast as the field turns the gear.",
            f"Set right, {100 * max(c.check.false_alarm for c in choices):.0f} counts in 100 fall "
            "outside the range.",
            "Outside the range: count once more. Outside again: look for a blocked hole, an empty "
            "hopper, the wrong setting or seed.",
            *field_checks(units),
        ),
    )


def _doubt(ground: GroundFigure, change: WheelChange | None) -> str:
    """Why the ground per turn must not be trusted, "" where nothing speaks against it."""
    doubt = doubt_after(ground, change)
    if not doubt or change is None:
        return ""
    changed = f"the {change.what} was changed on {day_text(change.day.isoformat())}"
    if ground.measured_on is None:
        return (
            f"{changed}; it is not known whether the ground per turn was measured before or after"
        )
    day = day_text(ground.measured_on.isoformat())
    return f"{changed}, and the ground per turn was measured on {day}, before that; measure again"


def _rests_on(ground: GroundFigure, units: UnitSystem, change: WheelChange | None) -> str:
    figure = ground_scale(units).show(ground.ground_per_turn)
    if ground.measured_on is None:
        return f"Ground per gear turn {figure}; when it was measured is not recorded."
    text = f"Ground per gear turn {figure}, measured {day_text(ground.measured_on.isoformat())}."
    if change is not None and change.day == ground.measured_on:
        text += f" The {change.what} was changed that day: was it before the measuring?"
    return text


def _crop(choice: Choice, units: UnitSystem) -> CardCrop:
    best, crop, check = choice.option, choice.crop, choice.check
    in_bed = [("seeds", spacing_in_bed(best.seeds_per_m.value, units))]
    if not crop.by_rate:
        in_bed.append(("plants", spacing_in_bed(best.stand.value, units)))
    in_bed.append(("depth", _depth(crop.depth_m, units)))
    word = "seeds" if crop.by_rate else "plants"
    fine = stand_range(crop.accepted, units)
    in_bed.append(("stand", f"{density(best.stand.value, word, units)}; fine: {fine}"))
    remarks = []
    if choice.beyond:
        way = "fewer" if choice.beyond == "below" else "more"
        remarks.append(f"No setting tried comes near: try one that drops {way} seeds.")
    if not crop.by_rate:
        remarks.append(thinning(choice))
    if not best.tried:
        remarks.append("This setting was not tried at the bench: count before sowing.")
    if choice.dispersion_assumed:
        remarks.append("No repeats at the bench: the range holds if each seed falls by itself.")
    return CardCrop(
        name=crop_name(crop.name, crop.seed_lot),
        setting=visible(best.setting, 24),
        turns=str(check.turns),
        seeds=(str(check.low), str(check.high)),
        expected=f"{check.expected:.0f}",
        in_bed=tuple(in_bed),
        remarks=tuple(remarks),
    )


def _depth(depth_m: float | None, units: UnitSystem) -> str:
    if depth_m is None:
        return "see the seed bag"
    if units == "metric":
        return format_length(depth_m, units)
    eighths = round(depth_m / INCH.value * 8)
    if not eighths or abs(eighths / 8 * INCH.value - depth_m) > 0.1 * depth_m:
        return format_length(depth_m, units)
    whole, part = divmod(eighths, 8)
    over = {0: "", 1: "1/8", 2: "1/4", 3: "3/8", 4: "1/2", 5: "5/8", 6: "3/4", 7: "7/8"}[part]
    return " ".join(p for p in (str(whole) if whole else "", over, "in") if p)
