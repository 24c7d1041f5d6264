"""What is said about bench counts, choices, seed and stands, in sentences of plain text."""

from __future__ import annotations

from collections.abc import Iterable
from math import ceil, floor, log10

from ...core.crops import ASSUMED_TOLERANCE
from ...core.display import PLAIN, distance_scale
from ...core.language import decimals, many, say
from ...core.run import UnitSystem
from ...core.safe_text import visible
from ...core.units import format_length, format_mass, unit_factor
from ...seeding import SettingCurve
from ...seeding.plant_spacing import PRACTICAL_LIMIT_OF_PRECISION, SpacingIndices
from ...seeding.seed_need import SeedNeed
from ...seeding.setting_choice import Choice
from ...seeding.stand_emergence import Emergence
from .amounts import crop_name, density, places_of, probability


def turning_sentence(per_minute: float) -> str:
    """How fast to turn at the bench."""
    seconds = 60 / per_minute
    return say(
        "The field turns the gear {turns:.0f} times a minute: one turn in {one:.1f} s, 10 turns in "
        "{ten:.0f} s. Turn the bench as fast.",
        turns=per_minute,
        one=seconds,
        ten=10 * seconds,
    )


def bench_sentences(curve: SettingCurve) -> tuple[str, ...]:
    """What the scatter of the catches says, and what the curve does not."""
    spread = curve.dispersion
    if spread.assumed:
        found = [
            say(
                "How evenly the seeder drops is assumed, as if each seed fell by itself: too few "
                "catches were repeated to tell. Catch each setting three times to know."
            )
        ]
    else:
        found = [
            many(
                spread.degrees_of_freedom,
                "Catches scatter {size:.2f} times as much as seeds that fall each by itself (from "
                "{count} repeat).",
                "Catches scatter {size:.2f} times as much as seeds that fall each by itself (from "
                "{count} repeats).",
                size=spread.factor**0.5,
            )
        ]
    if curve.order_broken:
        found.append(
            say(
                "A larger setting dropped fewer seeds than a smaller one; the curve levels that "
                "out. Catch those settings again."
            )
        )
    if any(f is None for f in curve.tried):
        found.append(say("A setting not tried lies somewhere between its tried neighbours."))
    if curve.beyond:
        names = ", ".join(visible(s, 24) for s in curve.beyond[:8])
        found.append(say("No figure beyond the settings tried: {settings}.", settings=names))
    return tuple(found)


def choice_sentences(
    choice: Choice, units: UnitSystem, in_use_m: float | None = None
) -> tuple[str, ...]:
    """The choice in words, the setting first."""
    best, crop = choice.option, choice.crop
    found = [
        say(
            "Choose setting {setting}: {stand} expected, {wanted} wanted.",
            setting=visible(best.setting, 24),
            stand=density(best.stand.value, units, seeds=crop.by_rate),
            wanted=density(crop.wanted, units, seeds=crop.by_rate),
        )
    ]
    if choice.beyond == "below":
        found.append(say("All settings tried drop too many seeds; try one that drops fewer."))
    elif choice.beyond:
        found.append(say("All settings tried drop too few seeds; try one that drops more."))
    found.append(check_sentence(choice))
    for neighbour in choice.neighbours:
        told = say(
            "A seeder at {setting} would pass this check {share} of the time.",
            setting=visible(neighbour.setting, 24),
            share=probability(neighbour.passes_check),
        )
        more = _more_turns(best.setting, neighbour.setting, neighbour.more_turns)
        found.append(f"{told} {more}" if more else told)
    found.append(thinning(choice))
    wanted = choice.seeds_per_turn_wanted
    exactly = PLAIN.pair(wanted)[0]
    if in_use_m:
        old = in_use_m * crop.seeds_wanted_per_m.value
        found.append(
            say(
                "Wanted exactly: {seeds} seeds per turn (by the figure in use {old}).",
                seeds=exactly,
                old=decimals(f"{old:.{places_of(wanted)}f}"),
            )
        )
    else:
        found.append(say("Wanted exactly: {seeds} seeds per turn.", seeds=exactly))
    if crop.accept is None:
        found.append(
            say(
                "No accepted range was given; ± {share:.0f} % of the wanted stand is assumed.",
                share=100 * ASSUMED_TOLERANCE,
            )
        )
    return tuple(found)


def check_sentence(choice: Choice) -> str:
    """ "Turn 5 times: 118 to 146 seeds are fine …"."""
    check = choice.check
    figures = {
        "low": check.low,
        "high": check.high,
        "expected": float(check.expected),
        "outside": 100 * check.false_alarm,
    }
    if choice.dispersion_assumed:
        return many(
            check.turns,
            "Turn once: {low} to {high} seeds are fine, {expected:.0f} expected. Set right, a "
            "count falls outside {outside:.0f} times in 100 if each seed falls by itself.",
            "Turn {count} times: {low} to {high} seeds are fine, {expected:.0f} expected. Set "
            "right, a count falls outside {outside:.0f} times in 100 if each seed falls by itself.",
            **figures,
        )
    return many(
        check.turns,
        "Turn once: {low} to {high} seeds are fine, {expected:.0f} expected. Set right, a count "
        "falls outside {outside:.0f} times in 100.",
        "Turn {count} times: {low} to {high} seeds are fine, {expected:.0f} expected. Set right, a "
        "count falls outside {outside:.0f} times in 100.",
        **figures,
    )


def thinning(choice: Choice) -> str:
    """Whether to thin, and how hard."""
    if choice.thin is None:
        return say("No thinning foreseen.") if not choice.crop.by_rate else say("Sown by rate.")
    every = 1 / choice.thin
    if every >= 1.5:
        return say(
            "Thin: about 1 plant in {every:.0f} comes out for the wanted stand.", every=every
        )
    return say(
        "Thin: {share:.0f} % of the plants come out for the wanted stand.", share=100 * choice.thin
    )


def need_sentences(need: SeedNeed, units: UnitSystem) -> tuple[str, ...]:
    """Seed for the beds, what to take along, and whether the bag holds it."""
    distance = distance_scale(units)
    length = f"{_thousands(need.row_length_m / unit_factor(distance.unit))} {distance.unit}"
    seeds = _seeds(need.seeds.value)
    found = []
    if need.mass_kg:
        weight = _weight(need.mass_kg.value, units)
        found.append(
            say(
                "Row to sow: {length}; {seeds}, {weight}.",
                length=length,
                seeds=seeds,
                weight=weight,
            )
        )
    else:
        found.append(say("Row to sow: {length}; {seeds}.", length=length, seeds=seeds))
    take = _seeds(need.take_seeds)
    if need.take_kg is not None:
        take = f"{_weight(need.take_kg, units)} ({take})"
    found.append(say("Take {seeds}: that suffices 95 times in 100.", seeds=take))
    if need.enough is not None and need.in_bag_kg is not None and need.take_kg is not None:
        bag = _weight(need.in_bag_kg, units)
        if need.in_bag_kg >= need.take_kg:
            found.append(say("The bag holds {bag}: enough.", bag=bag))
        else:
            found.append(
                say(
                    "The bag holds {bag}: {sure} sure that it is enough; {more} more would do.",
                    bag=bag,
                    sure=probability(need.enough),
                    more=_weight(need.take_kg - need.in_bag_kg, units),
                )
            )
    return tuple(found)


def _seeds(number: float) -> str:
    return say("{number} seeds", number=_thousands(_round_up(number)))


def emergence_sentences(found: Iterable[Emergence]) -> tuple[str, ...]:
    """What was assumed, and what cannot be."""
    out = []
    for e in found:
        name = crop_name(e.crop, e.seed_lot)
        if e.dispersion.assumed:
            out.append(
                say(
                    "{crop}: fewer than 3 lengths; chance alone is assumed between them.", crop=name
                )
            )
        if e.field_emergence.value > 1:
            out.append(
                say(
                    "{crop}: more plants than seeds able to grow; check the seeds dropped and the "
                    "germination. 1 is used.",
                    crop=name,
                )
            )
    return tuple(out)


def spacing_sentences(indices: SpacingIndices, units: UnitSystem) -> tuple[str, ...]:
    """Precision and mean in words."""
    found = [
        say(
            "Mean spacing {mean}, {aim} aimed at.",
            mean=format_length(indices.mean_m, units),
            aim=format_length(indices.theoretical_m, units),
        )
    ]
    if indices.precision is not None:
        found.append(
            say(
                "Precision {share:.1f} %, the spread of the single spacings: 0 % would be a ruler, "
                "{limit:.0f} % no order at all.",
                share=100 * indices.precision,
                limit=100 * PRACTICAL_LIMIT_OF_PRECISION,
            )
        )
    return tuple(found)


def _more_turns(one: str, other: str, turns: int | None) -> str:
    if turns is None:
        return ""
    if turns == 0:
        return say("The counts tell the two apart.")
    return many(
        turns,
        "Catch {count} more turn at each to tell {one} from {other}.",
        "Catch {count} more turns at each to tell {one} from {other}.",
        one=visible(one, 24),
        other=visible(other, 24),
    )


def _weight(kilograms: float, units: UnitSystem) -> str:
    """A weight to three digits: finer than any kitchen scale that comes to a field."""
    number, _, unit = format_mass(kilograms, units).partition(" ")
    value = float(number.replace(",", "."))
    places = max(0, 2 - floor(log10(value))) if value > 0 else 0
    return f"{decimals(f'{value:.{places}f}')} {unit}"


def _thousands(number: float) -> str:
    return f"{number:,.0f}".replace(",", " ")


def _round_up(seeds: float) -> float:
    """To two digits, upwards: seed counts are never known better."""
    if seeds <= 0:
        return 0.0
    step = 10.0 ** max(0, floor(log10(seeds)) - 2)
    return ceil(seeds / step) * step
