"""What is said about bench counts, choices, seed and stands: tables and sentences of plain text."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import ceil, floor, log10

from .choice import Choice, Option
from .cleantext import visible
from .figures import PERCENT, PLAIN, distance_scale, ground_scale, many
from .ground import GroundFigure
from .measured import Measured
from .metering import SettingCurve
from .run import UnitSystem
from .seedneed import SeedNeed
from .spacings import PRACTICAL_LIMIT_OF_PRECISION, SpacingIndices
from .stands import Emergence
from .tables import Column, Side, Table
from .units import FOOT, decimals_for, format_length, format_mass, unit_factor
from .wishes import ASSUMED_TOLERANCE, Wish

_ROWS_EITHER_SIDE = 3


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


def bench_table(crop: str, seed_lot: str, curve: SettingCurve) -> Table:
    """Seeds per turn by setting, with what was caught."""
    tried = curve.tried
    figures = [f.seeds_per_turn if f else curve.seeds_per_turn(i) for i, f in enumerate(tried)]
    ends = [f.seeds_per_turn_95 if f else curve.seeds_per_turn_95(i) for i, f in enumerate(tried)]
    columns = [
        _column("setting", (visible(s, 24) for s in curve.settings), "left"),
        _column("catches", (str(f.catches) if f else "not tried" for f in tried)),
        _column("turns", (f"{f.turns:g}" if f else "" for f in tried)),
        _column("seeds", (f"{f.seeds:.0f}" if f else "" for f in tried)),
        _column("seeds per turn", PLAIN.column(figures)),
        _column(
            "95 % sure", (PLAIN.interval(e, f.std) for e, f in zip(ends, figures, strict=True))
        ),
    ]
    return Table(title=f"Bench: {crop_name(crop, seed_lot)}", columns=tuple(columns))


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


def stand_range(ends: tuple[float, float], units: UnitSystem) -> str:
    """ "20 to 28 per m"."""
    length, name = per_length(units)
    return f"{_countable(ends[0] * length)} to {_countable(ends[1] * length)} per {name}"


def density(per_m: float, word: str, units: UnitSystem) -> str:
    """ "24 plants per m", as fine as a person counts."""
    length, name = per_length(units)
    return f"{_countable(per_m * length)} {word} per {name}"


def choice_table(choice: Choice, units: UnitSystem) -> Table:
    """The settings about the chosen one and the stands they should give; the chosen is marked."""
    first = max(0, choice.chosen - _ROWS_EITHER_SIDE)
    shown = choice.options[first : choice.chosen + _ROWS_EITHER_SIDE + 1]
    length, name = per_length(units)
    word = "seeds" if choice.wish.by_rate else "plants"
    stands = [o.stand.scaled(length) for o in shown]
    accepted = stand_range(choice.wish.accepted, units)
    columns = [
        _column("setting", (_setting(o) for o in shown), "left"),
        _column("seeds per turn", PLAIN.column([o.seeds_per_turn for o in shown])),
        _column(f"{word} per {name}", PLAIN.column(stands)),
        _column(
            "95 % sure",
            (
                PLAIN.interval((o.stand_95[0] * length, o.stand_95[1] * length), s.std)
                for o, s in zip(shown, stands, strict=True)
            ),
        ),
        _column("too thin", (probability(o.below) for o in shown)),
        _column(f"inside {accepted}", (probability(o.inside) for o in shown)),
        _column("too thick", (probability(o.above) for o in shown)),
    ]
    return Table(
        title=f"Settings: {crop_name(choice.wish.crop, choice.wish.seed_lot)}",
        columns=tuple(columns),
        marked=frozenset({choice.chosen - first}),
    )


def choice_sentences(
    choice: Choice, units: UnitSystem, in_use_m: float | None = None
) -> tuple[str, ...]:
    """The choice in words, the setting first."""
    best, wish = choice.option, choice.wish
    word = "seeds" if wish.by_rate else "plants"
    found = [
        f"Choose setting {visible(best.setting, 24)}: {density(best.stand.value, word, units)} "
        f"expected, {density(wish.wanted, word, units)} wanted."
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
        old = wish.seeds_per_turn(Measured(in_use_m))
        target += f" (by the figure in use until now {old.value:.{_places(wanted)}f})"
    found.append(target + ".")
    if wish.accept is None:
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
        return "No thinning foreseen." if not choice.wish.by_rate else "Sown by rate."
    every = 1 / choice.thin
    if every >= 1.5:
        return f"Thin: about 1 plant in {every:.0f} comes out for the wanted stand."
    return f"Thin: {100 * choice.thin:.0f} % of the plants come out for the wanted stand."


def target_table(wishes: Sequence[Wish], ground: GroundFigure, units: UnitSystem) -> Table:
    """Seeds per turn wanted for each crop, by the measured figure and by the one in use."""
    wanted = [w.seeds_per_turn(ground.ground_per_turn) for w in wishes]
    columns = [
        _column("crop", (crop_name(w.crop, w.seed_lot) for w in wishes), "left"),
        _column("wanted", (_wanted(w, units) for w in wishes)),
        _column("seeds that grow", (f"{100 * w.growing.value:.0f} %" for w in wishes)),
    ]
    if ground.in_use_m:
        old = [w.seeds_per_turn(Measured(ground.in_use_m)).value for w in wishes]
        texts = (f"{o:.{_places(new)}f}" for o, new in zip(old, wanted, strict=True))
        columns.append(_column("until now", texts))
    columns.append(_column("seeds per turn", (PLAIN.value(w) for w in wanted)))
    if any(w.std for w in wanted):
        ends = [
            wish.seeds_per_turn_95(ground.ground_per_turn, ground.ground_per_turn_95)
            for wish in wishes
        ]
        sure = (PLAIN.interval(e, w.std) for e, w in zip(ends, wanted, strict=True))
        columns.append(_column("95 % sure", sure))
    return Table(title="Seeds per gear turn", columns=tuple(columns))


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


def emergence_table(found: Iterable[Emergence], units: UnitSystem) -> Table:
    """Plants per length and emergence by crop and lot."""
    found = tuple(found)
    length, name = per_length(units)
    columns = [
        _column("crop", (crop_name(e.crop, e.seed_lot) for e in found), "left"),
        _column("lengths", (str(e.lengths) for e in found)),
        _column("plants", (str(e.plants) for e in found)),
        _column(f"plants per {name}", (PLAIN.show(e.plants_per_m.scaled(length)) for e in found)),
        _column("of the seeds, %", (PERCENT.pair(e.of_seeds)[0] for e in found)),
        _column("field emergence, %", (PERCENT.pair(e.field_emergence)[0] for e in found)),
        _column(
            "95 % sure",
            (PERCENT.interval(e.field_emergence_95, e.field_emergence.std) for e in found),
        ),
    ]
    return Table(title="Field emergence", columns=tuple(columns))


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


def spacing_table(indices: SpacingIndices) -> Table:
    """The shares of the spacings, with limits."""
    rows = (
        ("multiples (up to half)", indices.multiples, indices.multiples_95),
        ("quality of feed (single)", indices.quality_of_feed, indices.quality_of_feed_95),
        ("misses (over one and a half)", indices.misses, indices.misses_95),
    )
    return Table(
        title=f"{many(indices.spacings, 'spacing', 'spacings')}",
        columns=(
            _column("", (r[0] for r in rows), "left"),
            _column("share", (f"{100 * r[1]:.1f} %" for r in rows)),
            _column("95 % sure", (f"{100 * r[2][0]:.0f} to {100 * r[2][1]:.0f} %" for r in rows)),
        ),
    )


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


def turning_sentence(per_minute: float) -> str:
    """How fast to turn at the bench."""
    seconds = 60 / per_minute
    return (
        f"The field turns the gear {per_minute:.0f} times a minute: one turn in {seconds:.1f} s, "
        f"10 turns in {10 * seconds:.0f} s. Turn the bench as fast."
    )


def spacing_in_bed(per_m: float, units: UnitSystem) -> str:
    """ "one every 4.2 cm", as fine as a person can see in a bed."""
    unit = ground_scale(units).unit
    size = 1 / per_m / unit_factor(unit)
    return f"one every {size:.{1 if size < 10 else 0}f} {unit}"


def _wanted(wish: Wish, units: UnitSystem) -> str:
    word = "seeds" if wish.by_rate else "plants"
    return density(wish.wanted, word, units)


def _setting(option: Option) -> str:
    return visible(option.setting, 24) + ("" if option.tried else " (not tried)")


def _more_turns(one: str, other: str, turns: int | None) -> str:
    if turns is None:
        return ""
    if turns == 0:
        return " The counts tell the two apart."
    return (
        f" Catch {turns} more turns at each to tell {visible(one, 24)} from {visible(other, 24)}."
    )


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


def _places(measured: Measured) -> int:
    return max(0, decimals_for(measured.std)) if measured.std else 1


def _round_up(seeds: float) -> float:
    """To two digits, upwards: seed counts are never known better."""
    if seeds <= 0:
        return 0.0
    step = 10.0 ** max(0, floor(log10(seeds)) - 2)
    return ceil(seeds / step) * step


def _column(heading: str, cells: Iterable[str], side: Side = "right") -> Column:
    return Column(heading=heading, cells=tuple(cells), side=side)
