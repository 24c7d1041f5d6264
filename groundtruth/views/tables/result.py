"""The passes and row units of a result as tables of plain text.

Text from files is shortened here, and made visible where it is shown.
"""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median_high

from ...core.display import PERCENT, PLAIN, Scale, distance_scale, ground_scale
from ...core.language import English, many, said, say
from ...core.measured import Measured
from ...core.result import PassFigure, Result, median_unit
from ...core.safe_text import visible
from ..blocks import Column, Table, column
from ..doubts import passes_in_doubt

_NAME_LIMIT = 24
"""Characters of a name that a table cell shows; whole names are in the JSON."""
_UNIT_LIMIT = 10
_NAMES = (
    ("unit", English("unit")),
    ("bed", English("bed")),
    ("crop", English("crop")),
    ("setting", English("setting")),
)
_MOST_UNITS_ABREAST = 6


def passes_table(result: Result) -> Table:
    """One row for each unit on each pass. What is the same in all rows goes into the title."""
    figures = result.passes
    ground, distance = ground_scale(result.units), distance_scale(result.units)
    title = many(len({p.number for p in figures}), "{count} pass", "{count} passes")
    columns = [column(say("pass"), (str(p.number) for p in figures))]
    title = _add_names(title, columns, figures, with_unit=True)
    columns += [
        column(say("length, {unit}", unit=distance.unit), _lengths(figures, distance)),
        column(say("gear turns"), _turns(figures)),
        column(
            say("ground per turn, {unit}", unit=ground.unit),
            ground.column([p.ground_per_turn for p in figures]),
        ),
    ]
    if any(p.slip for p in figures):
        columns.append(column(say("slip, %"), PERCENT.column([p.slip for p in figures])))
    doubted = passes_in_doubt(result)
    marked = frozenset(i for i, p in enumerate(figures) if p.number in doubted)
    return Table(title=title, columns=tuple(columns), marked=marked)


def passes_by_unit_table(result: Result, *, with_slip: bool = True) -> Table:
    """One row for each pass with the units' ground per turn side by side, where that fits.

    Turns are left out then, ± is the largest of the units', and slip that of the median unit.
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
    columns = [column(say("pass"), (str(number) for number in passes))]
    title = _add_names(
        say("Passes: ground per turn of each row unit, {unit}", unit=ground.unit), columns, firsts
    )
    columns.append(column(say("length, {unit}", unit=distance.unit), _lengths(firsts, distance)))
    for unit in units:
        columns.append(
            column(
                say("unit {unit}", unit=visible(unit, _UNIT_LIMIT)),
                (
                    ground.number(by_unit[unit].ground_per_turn.value, places)
                    if unit in by_unit
                    else ""
                    for by_unit in passes.values()
                ),
            )
        )
    columns.append(column("±", (ground.reach(std, places) for std in stds)))
    if with_slip and any(figure.slip for figure in result.passes):
        medians = [median_unit(by_unit.values()) for by_unit in passes.values()]
        slips = [median.slip if median else None for median in medians]
        columns.append(column(say("median slip, %"), PERCENT.column(slips)))
    doubted = passes_in_doubt(result)
    marked = frozenset(i for i, number in enumerate(passes) if number in doubted)
    return Table(title=title, columns=tuple(columns), marked=marked)


def row_units_table(result: Result) -> Table:
    """One row for each row unit, the lagging ones marked."""
    ground, units = ground_scale(result.units), result.row_units
    columns = [column(say("unit"), (unit_shown(_name(u.unit), lags=u.lags) for u in units), "left")]
    title = say("Row units")
    counts = {unit.passes for unit in units}
    if len(counts) > 1:
        columns.append(column(say("passes"), (str(u.passes) for u in units)))
    elif counts:
        title += many(counts.pop(), ", {count} pass each", ", {count} passes each")
    columns.append(
        column(
            say("ground per turn, {unit}", unit=ground.unit),
            ground.column([u.ground_per_turn for u in units]),
        )
    )
    if any(u.slip for u in units):
        columns.append(column(say("slip, %"), PERCENT.column([u.slip for u in units])))
    if any(u.turns_against_others for u in units):
        against = (_against(u.turns_against_others) for u in units)
        columns.append(column(say("turns against others"), against))
    return Table(
        title=title,
        columns=tuple(columns),
        marked=frozenset(i for i, u in enumerate(units) if u.lags),
    )


def unit_shown(name: str, *, lags: bool) -> str:
    """A row unit's name, with a word for one that lags."""
    return say("{unit}, lags", unit=name) if lags else name


def _name(text: str) -> str:
    return visible(text, _NAME_LIMIT)


def _add_names(
    title: str, columns: list[Column], figures: Sequence[PassFigure], *, with_unit: bool = False
) -> str:
    """Add columns of bed, crop and setting; what is the same in all rows goes into the title."""
    for name, heading in _NAMES[0 if with_unit else 1 :]:
        names = [_name(getattr(figure, name)) for figure in figures]
        if len(set(names)) > 1:
            columns.append(column(said(heading), names, "left"))
        elif names and names[0]:
            title += _in_title(name, names[0])
    return title


def _in_title(what: str, name: str) -> str:
    match what:
        case "unit":
            return say(", unit {name}", name=name)
        case "bed":
            return say(", bed {name}", name=name)
        case "setting":
            return say(", setting {name}", name=name)
        case _:
            return f", {name}"


def _lengths(figures: Sequence[PassFigure], scale: Scale) -> tuple[str, ...]:
    return tuple(cell.split(" ")[0] for cell in scale.column([p.distance for p in figures]))


def _turns(figures: Sequence[PassFigure]) -> tuple[str, ...]:
    """Whole where only whole turns were counted, else to a tenth."""
    places = 0 if all(p.turns.value == round(p.turns.value) for p in figures) else 1
    return tuple(PLAIN.number(p.turns.value, places) for p in figures)


def _against(turns: Measured | None) -> str:
    if turns is None:
        return ""
    return f"{PERCENT.signed(turns.value - 1, min(2, PERCENT.places(turns.std)))} %"
