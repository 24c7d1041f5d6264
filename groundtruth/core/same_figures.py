"""Whether two results say the same, whatever words and version they are written in."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from math import isclose

from .result import Result
from .seeder import Seeder

NEAR = 1e-6
"""Figures that differ by less, in their SI unit or relatively, are the same: far below what any of
them is known to, far above what another machine's arithmetic changes."""
NEAR_S = 1e-3
"""So are instants that differ by less, s."""

COMPARED = (
    "seeder",
    "ground_per_turn",
    "ground_per_turn_95",
    "slip",
    "slip_95",
    "change",
    "spread_between_passes",
    "passes",
    "row_units",
    "budget",
)
"""Fields of a result that are figures, or say what they are about."""


FIGURES_OF_SEEDER = frozenset(
    field.name
    for field in fields(Seeder)
    if field.name not in ("name", "id", "tyre", "tyre_pressure_pa", "ballast_kg")
)
"""Fields of a seeder that its figures rest on; the others describe it."""


def same_figures(one: Result, other: Result) -> bool:
    """Whether two results of a run agree in every figure, to rounding.

    Compared are the machine, the pooled figures, passes with what was sown on them, row units,
    budget and seeds per turn; not names of runs, files, farm and seeder, tyre and soil, versions,
    units to show, remarks, advice and lines to draw.
    """
    first, second = list(_leaves(one)), list(_leaves(other))
    return len(first) == len(second) and all(
        name == other_name and _agree(name, a, b)
        for (name, a), (other_name, b) in zip(first, second, strict=True)
    )


def _leaves(value: object, name: str = "") -> Iterator[tuple[str, object]]:
    """Every single value inside, in order, with the name of the field that holds it."""
    if isinstance(value, Result):
        for compared in COMPARED:
            yield from _leaves(getattr(value, compared), compared)
        for target in value.targets:
            yield "crop", target.crop.name
            yield from _leaves((target.seeds_per_turn, target.seeds_per_turn_95), "seeds")
            yield "in use", target.seeds_per_turn_in_use
    elif is_dataclass(value):
        kept = FIGURES_OF_SEEDER if isinstance(value, Seeder) else None
        for field in fields(value):
            if kept is not None and field.name not in kept:
                continue
            yield from _leaves(getattr(value, field.name), field.name)
    elif isinstance(value, tuple):
        yield name, len(value)
        for entry in value:
            yield from _leaves(entry, name)
    else:
        yield name, value


def _agree(name: str, one: object, other: object) -> bool:
    if not (isinstance(one, float) and isinstance(other, float)):
        return one == other
    if name.endswith("_s"):  # a relative limit of seconds since 1970 would let minutes pass
        return isclose(one, other, rel_tol=0.0, abs_tol=NEAR_S)
    return isclose(one, other, rel_tol=NEAR, abs_tol=NEAR)
