"""The season's answers as tables and sentences of plain text."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from math import floor
from typing import Any

from ...beds import Anomaly, AnomalyKind
from ...beds.anomalies import SURE
from ...core.display import PERCENT, Scale, distance_scale, ground_scale, many
from ...core.run import UnitSystem
from ...core.safe_text import visible
from ...core.units import unit_factor
from ...season.bed_tables import SOWING_COLUMNS
from ...season.columns import RecordColumn, Row
from ...season.comparison import Chart, UnitStanding
from ...season.query import BedSowing, Season
from ...season.run_tables import RUNS
from ...season.seeders import names_in_order
from ..blocks import Column, Side, Table, column
from ..sentences.season import anomaly_sentence

_NAME = 24
_TURNS = Scale("")
SETTLED = 0.995
Values = Sequence[Any]
Shown = tuple[str, Iterable[str]]


def sure_text(sure: float) -> str:
    """How sure a bed is: never as certain, and rounded down."""
    return "over 99 %" if sure >= SETTLED else f"{floor(100 * sure)} %"


def _area_scale(units: UnitSystem, largest_m2: float) -> Scale:
    """One unit for a column of areas: m² or sq ft for a garden, ha or acres for a farm."""
    small, large = ("sq ft", "ac") if units == "us" else ("m²", "ha")
    return Scale(small if largest_m2 < unit_factor(large) else large)


def _area(area_m2: float, scale: Scale) -> str:
    return scale.number(area_m2, 3 if scale.unit in ("ac", "ha") else 0)


def _names(texts: Iterable[str]) -> Iterable[str]:
    return (visible(t, _NAME) for t in texts)


def overview(season: Season) -> tuple[str, ...]:
    """What the record holds, in a sentence or two."""
    days = sorted({r.day for r in season.runs})
    if not days:
        return ("The record holds no run yet.",)
    passes = sum(r.passes for r in season.runs)
    blocks = many(len(season.blocks), "block", "blocks")
    return (
        f"{many(len(season.runs), 'run', 'runs')} from {days[0]} to {days[-1]}, "
        f"{many(passes, 'pass', 'passes')} on {many(len(season.beds), 'bed', 'beds')} in {blocks}.",
        *(
            f"{c.day}: {visible(c.kind, 30)}"
            + (f", {visible(c.seeder, 30)}" if c.seeder and len(season.seeders) > 1 else "")
            + (f", unit {visible(c.unit, 20)}" if c.unit else "")
            + (f", {visible(c.note, 80)}" if c.note else "")
            for c in season.changes
        ),
    )


def runs_table(season: Season, units: UnitSystem) -> Table:
    """One row for each run."""
    columns = _recorded(RUNS.columns, [r.recorded for r in season.runs], units)
    passes = column("passes", (str(r.passes) for r in season.runs))
    return Table(title="Runs", columns=(*columns[:2], passes, *columns[2:]))


def _recorded(
    columns: Iterable[RecordColumn[Any]], rows: Sequence[Row], units: UnitSystem
) -> list[Column]:
    """The columns of the record that people read, in the units asked for."""
    found = []
    for one in columns:
        values = [row[one.name] for row in rows]
        if one.heading and (any(values) or not one.if_any):
            unit, cells = _SHOWN[one.shown](values, units)
            heading = f"{one.heading}, {unit}" if unit else one.heading
            side: Side = "left" if one.shown in ("text", "day") else "right"
            found.append(column(heading, cells, side))
    return found


def _ground(values: Values, units: UnitSystem) -> Shown:
    scale = ground_scale(units)
    return scale.unit, scale.column(values)


def _length(values: Values, units: UnitSystem) -> Shown:
    scale = distance_scale(units)
    return scale.unit, ["" if v is None else scale.number(v, 0) for v in values]


def _areas(values: Values, units: UnitSystem) -> Shown:
    scale = _area_scale(units, max((v for v in values if v is not None), default=0.0))
    return scale.unit, ["" if v is None else _area(v, scale) for v in values]


_SHOWN: dict[str, Callable[[Values, UnitSystem], Shown]] = {
    "text": lambda values, _: ("", _names(values)),
    "day": lambda values, _: ("", values),
    "count": lambda values, _: ("", ["" if v is None else str(v) for v in values]),
    "ground": _ground,
    "percent": lambda values, _: ("%", PERCENT.column(values)),
    "length": _length,
    "area": _areas,
    "sure": lambda values, _: ("", [sure_text(v) for v in values]),
}
"""Unit and cells of a column of values."""


def sown_table(season: Season, units: UnitSystem) -> Table:
    """Area and row length by crop, setting and day."""
    sown, length = season.sown, distance_scale(units)
    area = _area_scale(units, max((s.area_m2 for s in sown), default=0.0))
    return Table(
        title="Sown",
        columns=(
            column("day", (s.day for s in sown), "left"),
            column("crop", _names(s.crop for s in sown), "left"),
            column("setting", _names(s.setting for s in sown), "left"),
            column("passes", (str(s.passes) for s in sown)),
            column(f"area, {area.unit}", (_area(s.area_m2, area) for s in sown)),
            column(f"rows, {length.unit}", (length.number(s.row_length_m, 0) for s in sown)),
        ),
    )


def bed_table(sowings: Sequence[BedSowing], units: UnitSystem, title: str) -> Table:
    """The sowings of a bed, or of all beds; the block only where two have a bed of one name, the
    seeder only where there are several."""
    alike = len({(s.bed, s.block) for s in sowings}) > len({s.bed for s in sowings})
    columns = [c for c in SOWING_COLUMNS if alike or c.name != "block"]
    doubtful = frozenset(i for i, s in enumerate(sowings) if s.sure < SURE)
    shown = _recorded(columns, [s.recorded for s in sowings], units)
    if len(names_in_order(s.seeder for s in sowings)) > 1:
        shown.append(column("seeder", _names(s.seeder for s in sowings), "left"))
    return Table(title=title, columns=tuple(shown), marked=doubtful)


def anomaly_sentences(found: Sequence[Anomaly]) -> tuple[str, ...]:
    """What to look at, with how sure it is where that is not the point itself."""
    return tuple(
        visible(anomaly_sentence(a), 400)
        + ("." if a.kind is AnomalyKind.UNSURE else f" ({sure_text(a.sure)} sure of the bed).")
        for a in found
    )


def units_table(found: Sequence[UnitStanding]) -> Table:
    """Every row unit against its neighbours over the season."""
    against = [u.turns_against_others for u in found]
    return Table(
        title="Row units over the season",
        columns=(
            column(
                "unit",
                (visible(u.unit, 10) + (", lags" if u.lags else "") for u in found),
                "left",
            ),
            column("runs", (str(u.runs) for u in found)),
            column("turns against others", _TURNS.column(against)),
            column("named in", (many(u.runs_lagging, "run", "runs") for u in found)),
        ),
        marked=frozenset(i for i, u in enumerate(found) if u.lags),
    )


def chart_table(chart: Chart, units: UnitSystem) -> Table:
    """The control chart in figures."""
    ground, points = ground_scale(units), chart.points

    def limit(value: float | None) -> str:
        return "" if value is None else ground.number(value, 2)

    return Table(
        title=f"Control chart of ground per turn, {ground.unit}",
        columns=(
            column("day", (p.run.day for p in points), "left"),
            column("run", _names(p.run.name for p in points), "left"),
            column("soil", _names(p.run.soil for p in points), "left"),
            column("value", (ground.number(p.run.ground_per_turn.value, 2) for p in points)),
            column("low", (limit(p.low) for p in points)),
            column("high", (limit(p.high) for p in points)),
            column("moving average", (ground.number(p.average, 2) for p in points)),
            column(
                "",
                ("stands out" if p.out else "drifts" if p.drift else "" for p in points),
                "left",
            ),
        ),
        marked=frozenset(i for i, p in enumerate(points) if p.out or p.drift),
    )
