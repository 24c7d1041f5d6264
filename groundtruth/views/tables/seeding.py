"""Tables of bench counts, choices, targets, stands and spacings, in plain text."""

from __future__ import annotations

from collections.abc import Iterable

from ...core.display import PERCENT, PLAIN, span
from ...core.language import decimals, many, say
from ...core.run import UnitSystem
from ...core.safe_text import visible
from ...seeding import SettingCurve
from ...seeding.plant_spacing import SpacingIndices
from ...seeding.setting_choice import Choice, Option
from ...seeding.stand_emergence import Emergence
from ..blocks import Table, column
from ..sentences.amounts import crop_name, per_length, probability, stand_range

_ROWS_EITHER_SIDE = 3


def bench_table(crop: str, seed_lot: str, curve: SettingCurve) -> Table:
    """Seeds per turn by setting, with what was caught."""
    tried = curve.tried
    figures = [f.seeds_per_turn if f else curve.seeds_per_turn(i) for i, f in enumerate(tried)]
    ends = [f.seeds_per_turn_95 if f else curve.seeds_per_turn_95(i) for i, f in enumerate(tried)]
    columns = [
        column(say("setting"), (visible(s, 24) for s in curve.settings), "left"),
        column(say("catches"), (str(f.catches) if f else say("not tried") for f in tried)),
        column(say("turns"), (decimals(f"{f.turns:g}") if f else "" for f in tried)),
        column(say("seeds"), (f"{f.seeds:.0f}" if f else "" for f in tried)),
        column(say("seeds per turn"), PLAIN.column(figures)),
        column(
            say("95 % sure"), (PLAIN.interval(e, f.std) for e, f in zip(ends, figures, strict=True))
        ),
    ]
    return Table(title=say("Bench: {crop}", crop=crop_name(crop, seed_lot)), columns=tuple(columns))


def choice_table(choice: Choice, units: UnitSystem) -> Table:
    """The settings about the chosen one and the stands they should give; the chosen is marked."""
    first = max(0, choice.chosen - _ROWS_EITHER_SIDE)
    shown = choice.options[first : choice.chosen + _ROWS_EITHER_SIDE + 1]
    length, name = per_length(units)
    stands = [o.stand.scaled(length) for o in shown]
    accepted = stand_range(choice.crop.accepted, units)
    columns = [
        column(say("setting"), (_setting(o) for o in shown), "left"),
        column(say("seeds per turn"), PLAIN.column([o.seeds_per_turn for o in shown])),
        column(_per(name, seeds=choice.crop.by_rate), PLAIN.column(stands)),
        column(
            say("95 % sure"),
            (
                PLAIN.interval((o.stand_95[0] * length, o.stand_95[1] * length), s.std)
                for o, s in zip(shown, stands, strict=True)
            ),
        ),
        column(say("too thin"), (probability(o.below) for o in shown)),
        column(say("inside {range}", range=accepted), (probability(o.inside) for o in shown)),
        column(say("too thick"), (probability(o.above) for o in shown)),
    ]
    return Table(
        title=say("Settings: {crop}", crop=crop_name(choice.crop.name, choice.crop.seed_lot)),
        columns=tuple(columns),
        marked=frozenset({choice.chosen - first}),
    )


def emergence_table(found: Iterable[Emergence], units: UnitSystem) -> Table:
    """Plants per length and emergence by crop and lot."""
    found = tuple(found)
    length, name = per_length(units)
    columns = [
        column(say("crop"), (crop_name(e.crop, e.seed_lot) for e in found), "left"),
        column(say("lengths"), (str(e.lengths) for e in found)),
        column(say("plants"), (str(e.plants) for e in found)),
        column(_per(name, seeds=False), (PLAIN.show(e.plants_per_m.scaled(length)) for e in found)),
        column(say("of the seeds, %"), (PERCENT.pair(e.of_seeds)[0] for e in found)),
        column(say("field emergence, %"), (PERCENT.pair(e.field_emergence)[0] for e in found)),
        column(
            say("95 % sure"),
            (PERCENT.interval(e.field_emergence_95, e.field_emergence.std) for e in found),
        ),
    ]
    return Table(title=say("Field emergence"), columns=tuple(columns))


def spacing_table(indices: SpacingIndices) -> Table:
    """The shares of the spacings, with limits."""
    rows = (
        (say("multiples (up to half)"), indices.multiples, indices.multiples_95),
        (say("quality of feed (single)"), indices.quality_of_feed, indices.quality_of_feed_95),
        (say("misses (over one and a half)"), indices.misses, indices.misses_95),
    )
    return Table(
        title=many(indices.spacings, "{count} spacing", "{count} spacings"),
        columns=(
            column("", (r[0] for r in rows), "left"),
            column(say("share"), (f"{decimals(f'{100 * r[1]:.1f}')} %" for r in rows)),
            column(
                say("95 % sure"),
                (f"{span(f'{100 * r[2][0]:.0f}', f'{100 * r[2][1]:.0f}')} %" for r in rows),
            ),
        ),
    )


def _setting(option: Option) -> str:
    setting = visible(option.setting, 24)
    return setting if option.tried else say("{setting} (not tried)", setting=setting)


def _per(length: str, *, seeds: bool) -> str:
    if seeds:
        return say("seeds per {length}", length=length)
    return say("plants per {length}", length=length)
