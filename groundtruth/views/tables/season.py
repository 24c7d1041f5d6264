"""The season's answers as tables and sentences of plain text."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import floor

from ...core.display import PERCENT, Scale, distance_scale, ground_scale, many
from ...core.run import UnitSystem
from ...core.safe_text import visible
from ...core.units import unit_factor
from ...season.comparison import Chart, UnitStanding
from ...season.query import Odd, Season, Sowing
from ..blocks import Table, column

_NAME = 24
_TURNS = Scale("")
SETTLED = 0.995


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
        f"{many(passes, 'pass', 'passes')} on {many(season.beds, 'bed', 'beds')} in {blocks}.",
        *(
            f"{c.day}: {visible(c.kind, 30)}"
            + (f", unit {visible(c.unit, 20)}" if c.unit else "")
            + (f", {visible(c.note, 80)}" if c.note else "")
            for c in season.changes
        ),
    )


def runs_table(season: Season, units: UnitSystem) -> Table:
    """One row for each run."""
    ground, runs = ground_scale(units), season.runs
    columns = [
        column("day", (r.day for r in runs), "left"),
        column("run", _names(r.name for r in runs), "left"),
        column("passes", (str(r.passes) for r in runs)),
        column(f"ground per turn, {ground.unit}", ground.column([r.ground_per_turn for r in runs])),
    ]
    if any(r.slip for r in runs):
        columns.append(column("slip, %", PERCENT.column([r.slip for r in runs])))
    for heading, texts in (
        ("soil", [r.soil for r in runs]),
        ("seeder", [r.seeder for r in runs]),
    ):
        if any(texts):
            columns.append(column(heading, _names(texts), "left"))
    return Table(title="Runs", columns=tuple(columns))


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


def bed_table(sowings: Sequence[Sowing], units: UnitSystem, title: str) -> Table:
    """The sowings of a bed, or of all beds."""
    ground, length = ground_scale(units), distance_scale(units)
    columns = [column("bed", _names(s.bed for s in sowings), "left")]
    if len({(s.bed, s.block) for s in sowings}) > len({s.bed for s in sowings}):
        columns.append(column("block", _names(s.block for s in sowings), "left"))
    columns += [
        column("day", (s.day for s in sowings), "left"),
        column("crop", _names(s.crop for s in sowings), "left"),
        column("setting", _names(s.setting for s in sowings), "left"),
        column(f"length, {length.unit}", (length.number(s.length_m, 0) for s in sowings)),
        column(
            f"ground per turn, {ground.unit}", ground.column([s.ground_per_turn for s in sowings])
        ),
    ]
    if any(s.slip for s in sowings):
        columns.append(column("slip, %", PERCENT.column([s.slip for s in sowings])))
    columns.append(column("sure of bed", (sure_text(s.sure) for s in sowings)))
    doubtful = frozenset(i for i, s in enumerate(sowings) if s.sure < 0.8)
    return Table(title=title, columns=tuple(columns), marked=doubtful)


def odd_sentences(odd: Sequence[Odd]) -> tuple[str, ...]:
    """What to look at, with how sure it is where that is not the point itself."""
    return tuple(
        visible(o.text[0].upper() + o.text[1:], 400)
        + ("." if o.kind == "unsure" else f" ({sure_text(o.sure)} sure of the bed).")
        for o in odd
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
