"""What is said about a result, as sentences and tables of plain text.

The terminal and the report show these in their own way, so that both say the same. Text from
files is shortened here, and made visible where it is shown.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import floor, log10
from statistics import median_high
from typing import Literal

from ...core.display import PERCENT, PLAIN, Scale, distance_scale, ground_scale, many
from ...core.measured import Measured
from ...core.result import PassFigure, Result
from ...core.safe_text import visible

Side = Literal["left", "right"]

_NAME_LIMIT = 24
"""Characters of a name that a table cell shows; whole names are in the JSON."""
_UNIT_LIMIT = 10
_GROUND = "ground per turn"
_LAGS = ", lags"
_MOST_UNITS_ABREAST = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A heading and one cell for each row.

    ``strong`` is the column that people look for, a ``minor`` one can be missed on a small screen.
    """

    heading: str
    cells: tuple[str, ...]
    side: Side = "right"
    strong: bool = False
    minor: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Columns of equal length under a title; ``marked`` are the rows that should stand out."""

    title: str
    columns: tuple[Column, ...]
    marked: frozenset[int] = frozenset()

    @property
    def rows(self) -> tuple[tuple[str, ...], ...]:
        """The cells row by row."""
        return tuple(zip(*(column.cells for column in self.columns), strict=True))

    @property
    def has_plus_minus(self) -> bool:
        """Whether any cell holds a ±, which then wants explaining."""
        return any("±" in cell for column in self.columns for cell in column.cells)


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """The answer in parts: "" for what is not known."""

    ground: str  # "25.15 in"
    ground_sure: str  # "24.87 to 25.42 in"
    slip: str
    slip_sure: str
    in_use: str
    change: str  # "+2.69 %"
    change_std: str  # "0.55 %"

    @property
    def sentences(self) -> tuple[str, ...]:
        """The answer in whole sentences, the most wanted first."""
        found = [f"One gear turn covers {self.ground} of ground (95 % sure: {self.ground_sure})."]
        if self.slip:
            sure = f" (95 % sure: {self.slip_sure})" if self.slip_sure else ""
            found.append(f"Slip {self.slip}{sure}.")
        if self.change:
            found.append(
                f"In use until now: {self.in_use}; the new figure is {self.change} "
                f"(± {self.change_std}) against it."
            )
        return tuple(found)


def answer(result: Result) -> Answer:
    """The figures that a grower came for."""
    ground, pooled, slip = ground_scale(result.units), result.ground_per_turn, result.slip
    in_use_m = result.seeder.ground_per_gear_turn_in_use_m
    change = result.change if in_use_m is not None else None
    return Answer(
        ground=ground.value(pooled),
        ground_sure=ground.interval(result.ground_per_turn_95, pooled.std),
        slip=PERCENT.value(slip) if slip else "",
        slip_sure=PERCENT.interval(result.slip_95, slip.std) if slip and result.slip_95 else "",
        in_use=ground.value(Measured(in_use_m)) if in_use_m is not None else "",
        change=_signed_percent(change) if change else "",
        change_std=f"{PERCENT.pair(change)[1]} %" if change else "",
    )


def passes_table(result: Result) -> Table:
    """One row for each unit on each pass. What is the same in all rows goes into the title."""
    figures = result.passes
    ground, distance = ground_scale(result.units), distance_scale(result.units)
    title = many(len({p.number for p in figures}), "pass", "passes")
    columns = [_column("pass", (str(p.number) for p in figures))]
    title = _add_names(title, columns, figures, with_unit=True)
    columns += [
        _column(f"length, {distance.unit}", _lengths(figures, distance), minor=True),
        _column("gear turns", _turns(figures), minor=True),
        _column(f"{_GROUND}, {ground.unit}", ground.column([p.ground_per_turn for p in figures])),
    ]
    if any(p.slip for p in figures):
        columns.append(_column("slip, %", PERCENT.column([p.slip for p in figures])))
    return Table(title=title, columns=tuple(columns))


def passes_by_unit_table(result: Result, *, with_slip: bool = True) -> Table:
    """One row for each pass with the units' ground per turn side by side, where that fits.

    Turns are left out then, ± is the largest of the units', and slip that of the middle unit.
    """
    units = tuple(dict.fromkeys(figure.unit for figure in result.passes))
    if not 1 < len(units) <= _MOST_UNITS_ABREAST:
        return passes_table(result)
    ground, distance = ground_scale(result.units), distance_scale(result.units)
    passes: dict[int, dict[str, PassFigure]] = {}
    for figure in result.passes:
        passes.setdefault(figure.number, {})[figure.unit] = figure
    firsts = [next(iter(by_unit.values())) for by_unit in passes.values()]
    stds = [max(f.ground_per_turn.std for f in by_unit.values()) for by_unit in passes.values()]
    places = ground.places(median_high(stds))
    columns = [_column("pass", (str(number) for number in passes))]
    title = _add_names(f"Passes: {_GROUND} of each row unit, {ground.unit}", columns, firsts)
    columns.append(_column(f"length, {distance.unit}", _lengths(firsts, distance), minor=True))
    for unit in units:
        columns.append(
            _column(
                f"unit {visible(unit, _UNIT_LIMIT)}",
                (
                    ground.number(by_unit[unit].ground_per_turn.value, places)
                    if unit in by_unit
                    else ""
                    for by_unit in passes.values()
                ),
            )
        )
    columns.append(_column("±", (ground.number(std, places) for std in stds)))
    if with_slip and any(figure.slip for figure in result.passes):
        middles = [_middle_slip(by_unit.values()) for by_unit in passes.values()]
        columns.append(_column("middle slip, %", PERCENT.column(middles)))
    return Table(title=title, columns=tuple(columns))


def row_units_table(result: Result) -> Table:
    """One row for each row unit, the lagging ones marked."""
    ground, units = ground_scale(result.units), result.row_units
    columns = [
        _column("unit", (f"{_name(u.unit)}{_LAGS if u.lags else ''}" for u in units), "left")
    ]
    title = "Row units"
    counts = {unit.passes for unit in units}
    if len(counts) > 1:
        columns.append(_column("passes", (str(u.passes) for u in units)))
    elif counts:
        title += f", {many(counts.pop(), 'pass', 'passes')} each"
    columns.append(
        _column(f"{_GROUND}, {ground.unit}", ground.column([u.ground_per_turn for u in units]))
    )
    if any(u.slip for u in units):
        columns.append(_column("slip, %", PERCENT.column([u.slip for u in units])))
    if any(u.turns_against_others for u in units):
        against = (_against(u.turns_against_others) for u in units)
        columns.append(_column("turns against others", against))
    return Table(
        title=title,
        columns=tuple(columns),
        marked=frozenset(i for i, u in enumerate(units) if u.lags),
    )


def targets_table(result: Result) -> Table:
    """Seeds per gear turn for each crop, until now and from now on."""
    ground, targets = ground_scale(result.units), result.targets
    places = [_seed_places(t.seeds_per_turn) for t in targets]
    old = [
        "" if t.seeds_per_turn_in_use is None else PLAIN.number(t.seeds_per_turn_in_use, n)
        for t, n in zip(targets, places, strict=True)
    ]
    columns = [
        _column("crop", (_name(t.crop.name) for t in targets), "left"),
        _column(
            "plants every",
            (ground.value(Measured(t.crop.spacing_m)) if t.crop.spacing_m else "" for t in targets),
        ),
        _column(
            "seeds that grow",
            (_growing(t.crop.establishment.value) for t in targets),
            minor=True,
        ),
    ]
    if any(old):
        columns.append(_column("until now", old))
    columns += [
        Column(
            heading="from now on",
            cells=tuple(
                PLAIN.number(t.seeds_per_turn.value, n)
                for t, n in zip(targets, places, strict=True)
            ),
            strong=True,
        ),
        _column(
            "95 % sure",
            (
                " to ".join(PLAIN.number(end, n) for end in t.seeds_per_turn_95)
                for t, n in zip(targets, places, strict=True)
            ),
        ),
    ]
    return Table(title="Seeds per gear turn", columns=tuple(columns))


def _column(
    heading: str, cells: Iterable[str], side: Side = "right", *, minor: bool = False
) -> Column:
    return Column(heading=heading, cells=tuple(cells), side=side, minor=minor)


def _name(text: str) -> str:
    return visible(text, _NAME_LIMIT)


def _add_names(
    title: str, columns: list[Column], figures: Sequence[PassFigure], *, with_unit: bool = False
) -> str:
    """Add columns of bed, crop and setting; what is the same in all rows goes into the title."""
    for heading in ("unit", "bed", "crop", "setting")[0 if with_unit else 1 :]:
        names = [_name(getattr(figure, heading)) for figure in figures]
        if len(set(names)) > 1:
            columns.append(_column(heading, names, "left"))
        elif names and names[0]:
            title += f", {names[0]}" if heading == "crop" else f", {heading} {names[0]}"
    return title


def _lengths(figures: Sequence[PassFigure], scale: Scale) -> tuple[str, ...]:
    return tuple(cell.split(" ")[0] for cell in scale.column([p.distance for p in figures]))


def _turns(figures: Sequence[PassFigure]) -> tuple[str, ...]:
    """Whole where only whole turns were counted, else to a tenth."""
    places = 0 if all(p.turns.value == round(p.turns.value) for p in figures) else 1
    return tuple(PLAIN.number(p.turns.value, places) for p in figures)


def _middle_slip(figures: Iterable[PassFigure]) -> Measured | None:
    """The slip of the middle unit, which one unit that drags does not move."""
    known = sorted((f.slip for f in figures if f.slip), key=lambda slip: slip.value)
    return known[(len(known) - 1) // 2] if known else None


def _seed_places(seeds: Measured) -> int:
    """Decimals for seeds per turn: what is known, but no finer than three digits can be used."""
    return min(PLAIN.places(seeds.std), max(1, 2 - floor(log10(seeds.value))))


def _signed_percent(share: Measured) -> str:
    return f"{PERCENT.signed(share.value, PERCENT.places(share.std))} %"


def _against(turns: Measured | None) -> str:
    if turns is None:
        return ""
    return f"{PERCENT.signed(turns.value - 1, min(2, PERCENT.places(turns.std)))} %"


def _growing(share: float) -> str:
    return f"{100 * share:.3g} %"
