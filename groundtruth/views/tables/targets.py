"""Seeds per gear turn for each crop."""

from __future__ import annotations

from collections.abc import Sequence
from math import floor, log10

from ...core.crops import Crop, Target
from ...core.display import PLAIN, ground_scale, span
from ...core.language import decimals, say
from ...core.measured import Measured
from ...core.run import UnitSystem
from ..blocks import Table, column
from ..sentences.amounts import crop_name, density


def targets_table(targets: Sequence[Target], units: UnitSystem) -> Table:
    """Seeds per gear turn, by the figure in use where there is one, and by the measured one."""
    places = [_seed_places(t.seeds_per_turn) for t in targets]
    columns = [
        column(say("crop"), (crop_name(t.crop.name, t.crop.seed_lot) for t in targets), "left"),
        column(say("wanted"), (_wanted(t.crop, units) for t in targets)),
        column(
            say("seeds that grow"),
            (f"{decimals(f'{100 * t.crop.establishment.value:.3g}')} %" for t in targets),
        ),
    ]
    if any(t.seeds_per_turn_in_use is not None for t in targets):
        in_use = (
            "" if t.seeds_per_turn_in_use is None else PLAIN.number(t.seeds_per_turn_in_use, n)
            for t, n in zip(targets, places, strict=True)
        )
        columns.append(column(say("figure in use"), in_use))
    seeds = (PLAIN.number(t.seeds_per_turn.value, n) for t, n in zip(targets, places, strict=True))
    columns.append(column(say("from now on"), seeds, strong=True))
    if any(t.seeds_per_turn.std for t in targets):
        sure = (
            span(*(PLAIN.number(end, n) for end in t.seeds_per_turn_95))
            for t, n in zip(targets, places, strict=True)
        )
        columns.append(column(say("95 % sure"), sure))
    return Table(title=say("Seeds per gear turn"), columns=tuple(columns))


def _wanted(crop: Crop, units: UnitSystem) -> str:
    """The spacing along the row, or the density of a rate."""
    if crop.spacing_m is None:
        return density(crop.wanted, units, seeds=True)
    return say("every {spacing}", spacing=ground_scale(units).value(Measured(crop.spacing_m)))


def _seed_places(seeds: Measured) -> int:
    """Decimals for seeds per turn: what is known, but no finer than three digits can be used."""
    return min(PLAIN.places(seeds.std), max(1, 2 - floor(log10(seeds.value))))
