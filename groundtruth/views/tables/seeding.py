"""Tables of bench counts, choices, targets, stands and spacings, in plain text."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ...core.crops import Crop
from ...core.display import PERCENT, PLAIN, many
from ...core.run import UnitSystem
from ...core.safe_text import visible
from ...seeding import SettingCurve
from ...seeding.ground_figure import GroundFigure
from ...seeding.plant_spacing import SpacingIndices
from ...seeding.setting_choice import Choice, Option
from ...seeding.stand_emergence import Emergence
from ..sentences.seeding import crop_name, density, per_length, places_of, probability, stand_range
from .result import Column, Side, Table

_ROWS_EITHER_SIDE = 3


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


def choice_table(choice: Choice, units: UnitSystem) -> Table:
    """The settings about the chosen one and the stands they should give; the chosen is marked."""
    first = max(0, choice.chosen - _ROWS_EITHER_SIDE)
    shown = choice.options[first : choice.chosen + _ROWS_EITHER_SIDE + 1]
    length, name = per_length(units)
    word = "seeds" if choice.crop.by_rate else "plants"
    stands = [o.stand.scaled(length) for o in shown]
    accepted = stand_range(choice.crop.accepted, units)
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
        title=f"Settings: {crop_name(choice.crop.name, choice.crop.seed_lot)}",
        columns=tuple(columns),
        marked=frozenset({choice.chosen - first}),
    )


def target_table(crops: Sequence[Crop], ground: GroundFigure, units: UnitSystem) -> Table:
    """Seeds per turn wanted for each crop, by the measured figure and by the one in use."""
    targets = [ground.target(crop) for crop in crops]
    columns = [
        _column("crop", (crop_name(c.name, c.seed_lot) for c in crops), "left"),
        _column("wanted", (_wanted(c, units) for c in crops)),
        _column("seeds that grow", (f"{100 * c.establishment.value:.0f} %" for c in crops)),
    ]
    if ground.in_use_m:
        texts = (f"{t.seeds_per_turn_in_use:.{places_of(t.seeds_per_turn)}f}" for t in targets)
        columns.append(_column("until now", texts))
    columns.append(_column("seeds per turn", (PLAIN.value(t.seeds_per_turn) for t in targets)))
    if any(t.seeds_per_turn.std for t in targets):
        sure = (PLAIN.interval(t.seeds_per_turn_95, t.seeds_per_turn.std) for t in targets)
        columns.append(_column("95 % sure", sure))
    return Table(title="Seeds per gear turn", columns=tuple(columns))


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


def _wanted(crop: Crop, units: UnitSystem) -> str:
    word = "seeds" if crop.by_rate else "plants"
    return density(crop.wanted, word, units)


def _setting(option: Option) -> str:
    return visible(option.setting, 24) + ("" if option.tried else " (not tried)")


def _column(heading: str, cells: Iterable[str], side: Side = "right") -> Column:
    return Column(heading=heading, cells=tuple(cells), side=side)
