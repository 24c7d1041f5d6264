"""What is said about bench counts, choices, seed and stands, in sentences of plain text."""

from __future__ import annotations

from collections.abc import Iterable
from math import ceil, floor, log10

from ...core.crops import ASSUMED_TOLERANCE
from ...core.display import PLAIN, distance_scale, ground_scale, many
from ...core.measured import K95, Measured
from ...core.run import UnitSystem
from ...core.safe_text import visible
from ...core.units import FOOT, decimals_for, format_length, format_mass, unit_factor
from ...seeding import SettingCurve
from ...seeding.plant_spacing import PRACTICAL_LIMIT_OF_PRECISION, SpacingIndices
from ...seeding.seed_need import SeedNeed
from ...seeding.setting_choice import Choice
from ...seeding.stand_emergence import Emergence


def crop_name(crop: str, seed_lot: str) -> str:
    """ "beet, lot B-24"."""
    name = visible(crop, 40) or "seed"
    return f"{name}, lot {visible(seed_lot, 30)}" if seed_lot else name


def per_length(units: UnitSystem) -> tuple[float, str]:
    """Length over which plants are counted, in m, and its name: 1 m or 1 ft."""
    return (FOOT.value, "ft") if units == "us" else (1.0, "m")


def probability(share: float) -> str:
    """A probability as a person says it: "83 %", "under 1 %", "over 99 %"."""
    if share < 0.01:
        return "under 1 %"
    if share > 0.99:
        return "over 99 %"
    return f"{100 * share:.0f} %"


def stand_range(ends: tuple[float, float], units: UnitSystem) -> str:
    """ "20 to 28 per m"."""
    length, name = per_length(units)
    return f"{_countable(ends[0] * length)} to {_countable(ends[1] * length)} per {name}"


def density(per_m: float, word: str, units: UnitSystem) -> str:
    """ "24 plants per m", as fine as a person counts."""
    length, name = per_length(units)
    return f"{_countable(per_m * length)} {word} per {name}"


def spacing_in_bed(per_m: float, units: UnitSystem) -> str:
    """ "one every 4.2 cm", as fine as a person can see in a bed."""
    unit = ground_scale(units).unit
    size = 1 / per_m / unit_factor(unit)
    return f"one every {size:.{1 if size < 10 else 0}f} {unit}"


def turning_sentence(per_minute: float) -> str:
    """How fast to turn at the bench."""
    seconds = 60 / per_minute
    return (
        f"The field turns the gear {per_minute:.0f} times a minute: one turn in {seconds:.1f} s, "
        f"10 turns in {10 * seconds:.0f} s. Turn the bench as fast."
    )


def bench_sentences(curve: SettingCurve) -> tuple[str, ...]:
    """What the scatter of the catches says, and what the curve does not."""
    spread = curve.dispersion
    if spread.assumed:
        found = [
            "How evenly the seeder drops is assumed, as if each seed fell by itself: too few "
            "catches were repeated to tell. Catch each setting three times to know."
        ]
    else:
        size = spread.factor**0.5
        found = [
            f"Catches scatter {size:.2f} times as much as seeds that fall each by itself "
            f"(from {many(spread.degrees_of_freedom, 'repeat', 'repeats')})."
        ]
    if curve.order_broken:
        found.append(
            "A larger setting dropped fewer seeds than a smaller one; the curve levels that out. "
            "Catch those settings again."
        )
    if any(f is None for f in curve.tried):
        found.append("A setting not tried lies somewhere between its tried neighbours.")
    if curve.beyond:
        names = ", ".join(visible(s, 24) for s in curve.beyond[:8])
        found.append(f"No figure beyond the settings tried: {names}.")
    return tuple(found)


def choice_sentences(
    choice: Choice, units: UnitSystem, in_use_m: float | None = None
) -> tuple[str, ...]:
    """The choice in words, the setting first."""
    best, crop = choice.option, choice.crop
    word = "seeds" if crop.by_rate else "plants"
    found = [
        f"Choose setting {visible(best.setting, 24)}: {density(best.stand.value, word, units)} "
        f"expected, {density(crop.wanted, word, units)} wanted."
    ]
    if choice.beyond:
        word_beyond = "fewer" if choice.beyond == "below" else "more"
        found.append(
            f"All settings tried drop too {'many' if choice.beyond == 'below' else 'few'} seeds; "
            f"try one that drops {word_beyond}."
        )
    found.append(check_sentence(choice))
    for neighbour in choice.neighbours:
        found.append(
            f"A seeder at {visible(neighbour.setting, 24)} would pass this check "
            f"{probability(neighbour.passes_check)} of the time."
            + _more_turns(best.setting, neighbour.setting, neighbour.more_turns)
        )
    found.append(thinning(choice))
    wanted = choice.seeds_per_turn_wanted
    target = f"Wanted exactly: {PLAIN.pair(wanted)[0]} seeds per turn"
    if in_use_m:
        old = in_use_m * crop.seeds_wanted_per_m.value
        target += f" (by the figure in use {old:.{places_of(wanted)}f})"
    found.append(target + ".")
    if crop.accept is None:
        found.append(
            f"No accepted range was given; ± {100 * ASSUMED_TOLERANCE:.0f} % of the wanted stand "
            "is assumed."
        )
    return tuple(found)


def check_sentence(choice: Choice) -> str:
    """ "Turn 5 times: 118 to 146 seeds are fine …"."""
    check = choice.check
    assumed = " if each seed falls by itself" if choice.dispersion_assumed else ""
    return (
        f"Turn {check.turns} times: {check.low} to {check.high} seeds are fine, "
        f"{check.expected:.0f} expected. Set right, a count falls outside "
        f"{100 * check.false_alarm:.0f} times in 100{assumed}."
    )


def thinning(choice: Choice) -> str:
    """Whether to thin, and how hard."""
    if choice.thin is None:
        return "No thinning foreseen." if not choice.crop.by_rate else "Sown by rate."
    every = 1 / choice.thin
    if every >= 1.5:
        return f"Thin: about 1 plant in {every:.0f} comes out for the wanted stand."
    return f"Thin: {100 * choice.thin:.0f} % of the plants come out for the wanted stand."


def need_sentences(need: SeedNeed, units: UnitSystem) -> tuple[str, ...]:
    """Seed for the beds, what to take along, and whether the bag holds it."""
    distance = distance_scale(units)
    weight = f", {_weight(need.mass_kg.value, units)}" if need.mass_kg else ""
    found = [
        f"Row to sow: {_thousands(need.row_length_m / unit_factor(distance.unit))} "
        f"{distance.unit}; {_thousands(_round_up(need.seeds.value))} seeds{weight}."
    ]
    take = f"{_thousands(_round_up(need.take_seeds))} seeds"
    if need.take_kg is not None:
        take = f"{_weight(need.take_kg, units)} ({take})"
    found.append(f"Take {take}: that suffices 95 times in 100.")
    if need.enough is not None and need.in_bag_kg is not None and need.take_kg is not None:
        bag = _weight(need.in_bag_kg, units)
        if need.in_bag_kg >= need.take_kg:
            found.append(f"The bag holds {bag}: enough.")
        else:
            found.append(
                f"The bag holds {bag}: {probability(need.enough)} sure that it is enough; "
                f"{_weight(need.take_kg - need.in_bag_kg, units)} more would do."
            )
    return tuple(found)


def emergence_sentences(found: Iterable[Emergence]) -> tuple[str, ...]:
    """What was assumed, and what cannot be."""
    out = []
    for e in found:
        name = crop_name(e.crop, e.seed_lot)
        if e.dispersion.assumed:
            out.append(f"{name}: fewer than 3 lengths; chance alone is assumed between them.")
        if e.field_emergence.value > 1:
            out.append(
                f"{name}: more plants than seeds able to grow; check the seeds dropped and the "
                "germination. 1 is used."
            )
    return tuple(out)


def spacing_sentences(indices: SpacingIndices, units: UnitSystem) -> tuple[str, ...]:
    """Precision and mean in words."""
    found = [
        f"Mean spacing {format_length(indices.mean_m, units)}, "
        f"{format_length(indices.theoretical_m, units)} aimed at."
    ]
    if indices.precision is not None:
        found.append(
            f"Precision {100 * indices.precision:.1f} %, the spread of the single spacings: 0 % "
            f"would be a ruler, {100 * PRACTICAL_LIMIT_OF_PRECISION:.0f} % no order at all."
        )
    return tuple(found)


def _more_turns(one: str, other: str, turns: int | None) -> str:
    if turns is None:
        return ""
    if turns == 0:
        return " The counts tell the two apart."
    return (
        f" Catch {turns} more turns at each to tell {visible(one, 24)} from {visible(other, 24)}."
    )


def places_of(measured: Measured) -> int:
    """Decimals for a figure beside this one."""
    return max(0, decimals_for(K95 * measured.std)) if measured.std else 1


def _countable(value: float) -> str:
    text = f"{value:.{1 if value < 20 else 0}f}"
    return text.removesuffix(".0")


def _weight(kilograms: float, units: UnitSystem) -> str:
    """A weight to three digits: finer than any kitchen scale that comes to a field."""
    number, _, unit = format_mass(kilograms, units).partition(" ")
    value = float(number)
    places = max(0, 2 - floor(log10(value))) if value > 0 else 0
    return f"{value:.{places}f} {unit}"


def _thousands(number: float) -> str:
    return f"{number:,.0f}".replace(",", " ")


def _round_up(seeds: float) -> float:
    """To two digits, upwards: seed counts are never known better."""
    if seeds <= 0:
        return 0.0
    step = 10.0 ** max(0, floor(log10(seeds)) - 2)
    return ceil(seeds / step) * step
