"""The season's answers as tables and sentences of plain text."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from math import floor
from typing import Any

from ...beds import Anomaly, AnomalyKind
from ...beds.anomalies import SURE
from ...core.display import PERCENT, Scale, distance_scale, ground_scale
from ...core.language import English, by_text, many, said, say
from ...core.run import UnitSystem
from ...core.safe_text import visible
from ...core.units import unit_factor
from ...season.bed_tables import SOWING_COLUMNS
from ...season.columns import RecordColumn, Row
from ...season.comparison import Chart, UnitStanding
from ...season.noted_tables import SeederChange
from ...season.query import BedSowing, Season
from ...season.run_tables import RUNS
from ...season.seeders import names_in_order
from ..blocks import Column, Side, Table, column
from ..sentences.season import anomaly_sentence
from .result import unit_shown

_NAME = 24
_TURNS = Scale("")
SETTLED = 0.995
_HEADINGS = by_text(
    English("bed"),
    English("block"),
    English("crop"),
    English("day"),
    English("farm"),
    English("field"),
    English("ground per turn"),
    English("length"),
    English("run"),
    English("seeder"),
    English("setting"),
    English("slip"),
    English("soil"),
    English("sure of bed"),
)
"""Headings of the record's columns."""
_CHANGES = by_text(
    English("tyre"),
    English("wheel"),
    English("gear"),
    English("pressure"),
    English("unit serviced"),
    English("other"),
)
Values = Sequence[Any]
Shown = tuple[str, Iterable[str]]


def sure_text(sure: float) -> str:
    """How sure a bed is: never as certain, and rounded down."""
    return say("over 99 %") if sure >= SETTLED else f"{floor(100 * sure)} %"


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
        return (say("The record holds no run yet."),)
    passes = sum(r.passes for r in season.runs)
    held = say(
        "{runs} from {first} to {last}, {passes} {beds} {blocks}.",
        runs=many(len(season.runs), "{count} run", "{count} runs"),
        first=days[0],
        last=days[-1],
        passes=many(passes, "{count} pass", "{count} passes"),
        beds=many(len(season.beds), "on {count} bed", "on {count} beds"),
        blocks=many(len(season.blocks), "in {count} block", "in {count} blocks"),
    )
    several = len(season.seeders) > 1
    return (held, *(_change(change, several=several) for change in season.changes))


def _change(change: SeederChange, *, several: bool) -> str:
    """A change in a line; whose it was, where there are several seeders."""
    what = said(_CHANGES.get(change.kind, visible(change.kind, 30)))
    if change.seeder and several:
        what = f"{what}, {visible(change.seeder, 30)}"
    if change.unit:
        what = say("{change}, unit {unit}", change=what, unit=visible(change.unit, 20))
    note = f", {visible(change.note, 80)}" if change.note else ""
    return f"{change.day}: {what}{note}"


def runs_table(season: Season, units: UnitSystem) -> Table:
    """One row for each run."""
    columns = _recorded(RUNS.columns, [r.recorded for r in season.runs], units)
    passes = column(say("passes"), (str(r.passes) for r in season.runs))
    return Table(title=say("Runs"), columns=(*columns[:2], passes, *columns[2:]))


def _recorded(
    columns: Iterable[RecordColumn[Any]], rows: Sequence[Row], units: UnitSystem
) -> list[Column]:
    """The columns of the record that people read, in the units asked for."""
    found = []
    for one in columns:
        values = [row[one.name] for row in rows]
        if one.heading and (any(values) or not one.if_any):
            unit, cells = _SHOWN[one.shown](values, units)
            heading = said(_HEADINGS.get(one.heading, one.heading))
            heading = f"{heading}, {unit}" if unit else heading
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
        title=say("Sown"),
        columns=(
            column(say("day"), (s.day for s in sown), "left"),
            column(say("crop"), _names(s.crop for s in sown), "left"),
            column(say("setting"), _names(s.setting for s in sown), "left"),
            column(say("passes"), (str(s.passes) for s in sown)),
            column(say("area, {unit}", unit=area.unit), (_area(s.area_m2, area) for s in sown)),
            column(
                say("rows, {unit}", unit=length.unit),
                (length.number(s.row_length_m, 0) for s in sown),
            ),
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
        shown.append(column(say("seeder"), _names(s.seeder for s in sowings), "left"))
    return Table(title=title, columns=tuple(shown), marked=doubtful)


def anomaly_sentences(found: Sequence[Anomaly]) -> tuple[str, ...]:
    """What to look at, with how sure it is where that is not the point itself."""
    return tuple(
        f"{text}."
        if a.kind is AnomalyKind.UNSURE
        else say("{what} ({share} sure of the bed).", what=text, share=sure_text(a.sure))
        for a, text in ((a, visible(anomaly_sentence(a), 400)) for a in found)
    )


def _runs(count: int) -> str:
    return many(count, "{count} run", "{count} runs")


def units_table(found: Sequence[UnitStanding]) -> Table:
    """Every row unit against its neighbours over the season."""
    against = [u.turns_against_others for u in found]
    return Table(
        title=say("Row units over the season"),
        columns=(
            column(
                say("unit"),
                (unit_shown(visible(u.unit, 10), lags=u.lags) for u in found),
                "left",
            ),
            column(say("runs"), (str(u.runs) for u in found)),
            column(say("turns against others"), _TURNS.column(against)),
            column(say("named in"), (_runs(u.runs_lagging) for u in found)),
        ),
        marked=frozenset(i for i, u in enumerate(found) if u.lags),
    )


def chart_table(chart: Chart, units: UnitSystem) -> Table:
    """The control chart in figures."""
    ground, points = ground_scale(units), chart.points

    def limit(value: float | None) -> str:
        return "" if value is None else ground.number(value, 2)

    return Table(
        title=say("Control chart of ground per turn, {unit}", unit=ground.unit),
        columns=(
            column(say("day"), (p.run.day for p in points), "left"),
            column(say("run"), _names(p.run.name for p in points), "left"),
            column(say("soil"), _names(p.run.soil for p in points), "left"),
            column(say("value"), (ground.number(p.run.ground_per_turn.value, 2) for p in points)),
            column(say("low"), (limit(p.low) for p in points)),
            column(say("high"), (limit(p.high) for p in points)),
            column(say("moving average"), (ground.number(p.average, 2) for p in points)),
            column(
                "",
                (say("stands out") if p.out else say("drifts") if p.drift else "" for p in points),
                "left",
            ),
        ),
        marked=frozenset(i for i, p in enumerate(points) if p.out or p.drift),
    )
