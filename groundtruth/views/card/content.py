"""What stands on the card, as text ready to be set on a page or in the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from ...core.bed_names import beds_in_short
from ...core.display import day_text, ground_scale
from ...core.errors import InputError
from ...core.language import English, by_text, fixed, many, said, say
from ...core.run import UnitSystem
from ...core.safe_text import visible
from ...core.units import INCH, format_length
from ...seeding.ground_figure import GroundFigure, StaleFigureError, WheelChange, doubt_after
from ...seeding.setting_choice import Choice
from ..sentences.amounts import crop_name, density, spacing_in_bed, stand_range
from ..sentences.cautions import field_checks
from ..sentences.seeding import thinning, turning_sentence

SEEDS, PLANTS = English("seeds"), English("plants")
DEPTH, STAND = English("depth"), English("stand")
"""What is said of a crop's bed."""
_PARTS = by_text(
    English("drive wheel or tyre"),
    English("drive wheel"),
    English("tyre"),
    English("gearing"),
    English("tyre pressure"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CardCrop:
    """One crop's lines. ``setting``, ``turns``, ``seeds`` and ``expected`` are the large ones."""

    name: str
    setting: str
    turns: str  # "5"
    seeds: tuple[str, str]  # "118", "146"
    expected: str  # "132"
    in_bed: tuple[tuple[English, str], ...]  # (what, figure) pairs
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """The whole card. ``alarm`` is empty unless the ground per turn must not be trusted.

    ``title`` is farm, field and seeder, else the name given to the run; ``beds`` are those that
    the run sowed.
    """

    title: str
    beds: str
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
            say(
                "{why}. No card is printed; add --print-stale for a card that says so in large "
                "type.",
                why=f"{stale[0].upper()}{stale[1:]}",
            )
        )
    return Card(
        title=_title(ground),
        beds=beds_in_short(visible(bed, 20) for bed in ground.beds),
        made_on=day_text(made_on.isoformat()),
        rests_on=_rests_on(ground, units, change),
        crops=tuple(_crop(choice, units) for choice in choices),
        alarm=say("Do not trust this card: {why}.", why=stale) if stale else "",
        notes=(
            say("Fill the hopper, turn until seed falls evenly, then count."),
            turning_sentence(field_turns_per_minute)
            if field_turns_per_minute
            else say("Turn as fast as the field turns the gear."),
            _false_alarms(choices),
            say(
                "Outside the range: count once more. Outside again: look for a blocked hole, an "
                "empty hopper, the wrong setting or seed."
            ),
            *field_checks(units),
        ),
    )


def _false_alarms(choices: Sequence[Choice]) -> str:
    return many(
        round(100 * max(c.check.false_alarm for c in choices)),
        "Set right, {count} count in 100 falls outside the range.",
        "Set right, {count} counts in 100 fall outside the range.",
    )


def _title(ground: GroundFigure) -> str:
    names = (ground.origin.farm, ground.origin.field, ground.seeder)
    known = [visible(name, 40) for name in names if name]
    name = "" if ground.named_by_file else visible(ground.run_name, 60)
    return " · ".join(known) or name or say("Seeder settings")


def _doubt(ground: GroundFigure, change: WheelChange | None) -> str:
    """Why the ground per turn must not be trusted, "" where nothing speaks against it."""
    doubt = doubt_after(ground, change)
    if not doubt or change is None:
        return ""
    changed = day_text(change.day.isoformat())
    if ground.measured_on is None:
        return say(
            "the {what} was changed on {changed}; it is not known whether the ground per turn was "
            "measured before or after",
            what=_part(change),
            changed=changed,
        )
    return say(
        "the {what} was changed on {changed}, and the ground per turn was measured on {measured}, "
        "before that; measure again",
        what=_part(change),
        changed=changed,
        measured=day_text(ground.measured_on.isoformat()),
    )


def _part(change: WheelChange) -> str:
    return said(_PARTS.get(change.what, change.what))


def _rests_on(ground: GroundFigure, units: UnitSystem, change: WheelChange | None) -> str:
    figure = ground_scale(units).show(ground.ground_per_turn)
    if ground.measured_on is None:
        return say(
            "Ground per gear turn {ground}; when it was measured is not recorded.", ground=figure
        )
    text = say(
        "Ground per gear turn {ground}, measured {day}.",
        ground=figure,
        day=day_text(ground.measured_on.isoformat()),
    )
    if change is not None and change.day == ground.measured_on:
        asked = say(
            "The {what} was changed that day: was it before the measuring?", what=_part(change)
        )
        text = f"{text} {asked}"
    if ground.counts_in_doubt:
        asked = many(
            ground.counts_in_doubt,
            "{count} turn count of that run is in doubt: see its report.",
            "{count} turn counts of that run are in doubt: see its report.",
        )
        text = f"{text} {asked}"
    return text


def _crop(choice: Choice, units: UnitSystem) -> CardCrop:
    best, crop, check = choice.option, choice.crop, choice.check
    in_bed = [(SEEDS, spacing_in_bed(best.seeds_per_m.value, units))]
    if not crop.by_rate:
        in_bed.append((PLANTS, spacing_in_bed(best.stand.value, units)))
    in_bed.append((DEPTH, _depth(crop.depth_m, units)))
    stand = say(
        "{stand}; fine: {range}",
        stand=density(best.stand.value, units, seeds=crop.by_rate),
        range=stand_range(crop.accepted, units),
    )
    in_bed.append((STAND, stand))
    remarks = []
    if choice.beyond == "below":
        remarks.append(say("No setting tried comes near: try one that drops fewer seeds."))
    elif choice.beyond:
        remarks.append(say("No setting tried comes near: try one that drops more seeds."))
    if not crop.by_rate:
        remarks.append(thinning(choice))
    if not best.tried:
        remarks.append(say("This setting was not tried at the bench: count before sowing."))
    if choice.dispersion_assumed:
        remarks.append(
            say("No repeats at the bench: the range holds if each seed falls by itself.")
        )
    return CardCrop(
        name=crop_name(crop.name, crop.seed_lot),
        setting=visible(best.setting, 24),
        turns=str(check.turns),
        seeds=(str(check.low), str(check.high)),
        expected=fixed(check.expected, 0),
        in_bed=tuple(in_bed),
        remarks=tuple(remarks),
    )


def _depth(depth_m: float | None, units: UnitSystem) -> str:
    if depth_m is None:
        return say("see the seed bag")
    if units == "metric":
        return format_length(depth_m, units)
    eighths = round(depth_m / INCH.value * 8)
    if not eighths or abs(eighths / 8 * INCH.value - depth_m) > 0.1 * depth_m:
        return format_length(depth_m, units)
    whole, part = divmod(eighths, 8)
    over = {0: "", 1: "1/8", 2: "1/4", 3: "3/8", 4: "1/2", 5: "5/8", 6: "3/4", 7: "7/8"}[part]
    return " ".join(p for p in (str(whole) if whole else "", over, "in") if p)
