"""Tables of bench counts, choices, targets, stands and spacings, in plain text."""

from __future__ import annotations

from collections.abc import Iterable

from ...core.display import PERCENT, PLAIN, many
from ...core.run import UnitSystem
from ...core.safe_text import visible
from ...seeding import SettingCurve
from ...seeding.plant_spacing import SpacingIndices
from ...seeding.setting_choice import Choice, Option
from ...seeding.stand_emergence import Emergence
from ..blocks import Table, column
from ..sentences.seeding import crop_name, per_length, probability, stand_range

_ROWS_EITHER_SIDE = 3


def bench_table(crop: str, seed_lot: str, curve: SettingCurve) -> Table:
    """Seeds per turn by setting, with what was caught."""
    tried = curve.tried
    figures = [f.seeds_per_turn if f else curve.seeds_per_turn(i) for i, f in enumerate(tried)]
    ends = [f.seeds_per_turn_95 if f else curve.seeds_per_turn_95(i) for i, f in enumerate(tried)]
    columns = [
        column("setting", (visible(s, 24) for s in curve.settings), "left"),
        column("catches", (str(f.catches) if f else "not tried" for f in tried)),
        column("turns", (f"{f.turns:g}" if f else "" for f in tried)),
        column("seeds", (f"{f.seeds:.0f}" if f else "" for f in tried)),
        column("seeds per turn", PLAIN.column(figures)),
        column("95 % sure", (PLAIN.interval(e, f.std) for e, f in zip(ends, figures, strict=True))),
    ]
    return Table(title=f"Bench: {crop_name(crop, seed_lot)}", columns=tuple(columns))


def choice_table(choice: Choice, units: UnitSystem) -> Table:
    """The settings about the chosen one and the stands they should give; the chosen is marked."""
    first = max(0, choice.chosen - _ROWS_EITHER_SIDE)
    shown = choice.options[first : choice.chosen + _ROWS_EITHER_SIDE + 1]
    length, name = per_length(units)
    word = "seeds" if choice.crop.by_rate else "plants"
    stands = [o.stand.scaled(length) for o in shown]
    accepted = stand_range(choice.crop.accepted, units)
    columns = [
        column("setting", (_setting(o) for o in shown), "left"),
        column("seeds per turn", PLAIN.column([o.seeds_per_turn for o in shown])),
        column(f"{word} per {name}", PLAIN.column(stands)),
        column(
            "95 % sure",
            (
                PLAIN.interval((o.stand_95[0] * length, o.stand_95[1] * length), s.std)
                for o, s in zip(shown, stands, strict=True)
            ),
        ),
        column("too thin", (probability(o.below) for o in shown)),
        column(f"inside {accepted}", (probability(o.inside) for o in shown)),
        column("too thick", (probability(o.above) for o in shown)),
    ]
    return Table(
        title=f"Settings: {crop_name(choice.crop.name, choice.crop.seed_lot)}",
        columns=tuple(columns),
        marked=frozenset({choice.chosen - first}),
    )


def emergence_table(found: Iterable[Emergence], units: UnitSystem) -> Table:
    """Plants per length and emergence by crop and lot."""
    found = tuple(found)
    length, name = per_length(units)
    columns = [
        column("crop", (crop_name(e.crop, e.seed_lot) for e in found), "left"),
        column("lengths", (str(e.lengths) for e in found)),
        column("plants", (str(e.plants) for e in found)),
        column(f"plants per {name}", (PLAIN.show(e.plants_per_m.scaled(length)) for e in found)),
        column("of the seeds, %", (PERCENT.pair(e.of_seeds)[0] for e in found)),
        column("field emergence, %", (PERCENT.pair(e.field_emergence)[0] for e in found)),
        column(
            "95 % sure",
            (PERCENT.interval(e.field_emergence_95, e.field_emergence.std) for e in found),
        ),
    ]
    return Table(title="Field emergence", columns=tuple(columns))


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
            column("", (r[0] for r in rows), "left"),
            column("share", (f"{100 * r[1]:.1f} %" for r in rows)),
            column("95 % sure", (f"{100 * r[2][0]:.0f} to {100 * r[2][1]:.0f} %" for r in rows)),
        ),
    )


def _setting(option: Option) -> str:
    return visible(option.setting, 24) + ("" if option.tried else " (not tried)")
