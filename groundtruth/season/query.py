"""What the record answers: figures to compare, what lies where, a bed's sowings."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from pathlib import Path

from ..core.measured import Measured
from ..core.run import UnitSystem
from ..io.geopackage import from_blob
from .comparison import RunFigure, UnitRun
from .slip_along import Spot, read_spots
from .store import reading

WHEEL_CHANGES = ("tyre", "wheel", "gear", "pressure")
"""Changes that move the ground per turn, so that runs before and after are told apart."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A recorded change on a seeder."""

    day: str
    kind: str
    seeder: str
    unit: str
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Sowing:
    """One sowing of a bed."""

    bed: str
    block: str
    day: str
    crop: str
    setting: str
    length_m: float
    area_m2: float
    row_length_m: float
    ground_per_turn: Measured | None
    slip: Measured | None
    sure: float
    run: str
    number: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Sown:
    """Area and row length sown of one crop at one setting on one day."""

    crop: str
    setting: str
    day: str
    passes: int
    area_m2: float
    row_length_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Odd:
    """Something to look at, as `beds.Oddity`."""

    kind: str
    day: str
    block: str
    bed: str
    text: str
    sure: float


@dataclass(frozen=True, slots=True)
class Shape:
    """A closed ring of corners (longitude, latitude), the bed it is, and the bed's block."""

    name: str
    outline: tuple[tuple[float, float], ...]
    block: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """All of it at one instant. ``units`` are those of the latest run; ``strip_shapes`` follow
    ``sowings``, ``spots`` are parts of them."""

    runs: tuple[RunFigure, ...]
    unit_runs: tuple[UnitRun, ...]
    changes: tuple[Change, ...]
    sowings: tuple[Sowing, ...]
    sown: tuple[Sown, ...]
    oddities: tuple[Odd, ...]
    beds: int
    strip_shapes: tuple[Shape, ...]
    bed_shapes: tuple[Shape, ...]
    blocks: tuple[str, ...]
    units: UnitSystem
    spots: tuple[Spot, ...] = ()


def read_season(path: Path) -> Season:
    """Read what can be asked of the record.

    Raises
    ------
    SeasonError : there is no record, or it cannot be used.
    """
    with reading(path) as db:
        changes = _changes(db)
        row = db.execute("SELECT units FROM runs ORDER BY day DESC, id DESC LIMIT 1").fetchone()
        passes, strip_shapes = _strip_shapes(db)
        return Season(
            runs=_runs(db, changes),
            unit_runs=_unit_runs(db),
            changes=changes,
            sowings=_sowings(db),
            sown=_sown(db),
            oddities=tuple(
                Odd(kind=kind, day=day, block=block, bed=bed, text=text, sure=sure)
                for kind, day, block, bed, text, sure in db.execute(
                    "SELECT kind, day, block, bed, text, sure FROM oddities ORDER BY day, id"
                )
            ),
            strip_shapes=strip_shapes,
            bed_shapes=_shapes(db, "SELECT name, geom, block FROM beds ORDER BY block, place"),
            beds=int(db.execute("SELECT count(*) FROM beds").fetchone()[0]),
            blocks=tuple(
                r[0] for r in db.execute("SELECT DISTINCT block FROM beds ORDER BY block")
            ),
            units="us" if row and row[0] == "us" else "metric",
            spots=read_spots(db, passes, [shape.outline for shape in strip_shapes]),
        )


_STRIP_ORDER = (
    "LEFT JOIN beds b ON b.name = s.bed AND b.block = s.block"
    " ORDER BY s.block, b.place, s.day, p.start_at, s.id"
)


def _shapes(db: sqlite3.Connection, query: str) -> tuple[Shape, ...]:
    return tuple(
        Shape(name, from_blob(geom).points, block) for name, geom, block in db.execute(query)
    )


def _strip_shapes(db: sqlite3.Connection) -> tuple[list[int], tuple[Shape, ...]]:
    """Ids of the passes and shapes of their strips."""
    rows = db.execute(
        "SELECT s.pass_id, s.bed, s.geom, s.block FROM strips s JOIN passes p ON p.id = s.pass_id"
        f" JOIN runs r ON r.id = p.run_id {_STRIP_ORDER}"
    ).fetchall()
    shapes = tuple(Shape(bed, from_blob(geom).points, block) for _, bed, geom, block in rows)
    return [row[0] for row in rows], shapes


def _maybe(value: float | None, std: float | None) -> Measured | None:
    return None if value is None else Measured(value, std or 0.0)


def _changes(db: sqlite3.Connection) -> tuple[Change, ...]:
    return tuple(
        Change(day=day, kind=kind, seeder=seeder, unit=unit, note=note)
        for day, kind, seeder, unit, note in db.execute(
            "SELECT day, kind, seeder, unit, note FROM seeder_changes ORDER BY day, id"
        )
    )


def _runs(db: sqlite3.Connection, changes: tuple[Change, ...]) -> tuple[RunFigure, ...]:
    """A run on the day of a change counts as after it: a tyre is changed before the work."""
    rows = db.execute(
        "SELECT r.name, r.day, r.ground_per_turn_m, r.ground_per_turn_u_m, r.slip, r.slip_u,"
        " r.soil, r.seeder, count(p.id) FROM runs r LEFT JOIN passes p ON p.run_id = r.id"
        " GROUP BY r.id ORDER BY r.day, r.id"
    )
    return tuple(
        RunFigure(
            name=name,
            day=day,
            ground_per_turn=Measured(ground, ground_u),
            slip=_maybe(slip, slip_u),
            soil=soil,
            seeder=seeder,
            passes=passes,
            phase=sum(
                c.day <= day and c.kind in WHEEL_CHANGES and c.seeder in ("", seeder)
                for c in changes
            ),
        )
        for name, day, ground, ground_u, slip, slip_u, soil, seeder, passes in rows
    )


def _unit_runs(db: sqlite3.Connection) -> tuple[UnitRun, ...]:
    return tuple(
        UnitRun(
            day=day,
            unit=unit,
            turns_against_others=Measured(against, against_u),
            passes=passes,
            lags=bool(lags),
        )
        for day, unit, against, against_u, passes, lags in db.execute(
            "SELECT r.day, CASE WHEN r.seeder = '' THEN u.unit ELSE r.seeder || ': ' || u.unit END,"
            " u.turns_against_others, u.turns_against_others_u, u.passes,"
            " u.lags FROM row_units u JOIN runs r ON r.id = u.run_id"
            " WHERE u.turns_against_others IS NOT NULL ORDER BY r.day, u.id"
        )
    )


def _sowings(db: sqlite3.Connection) -> tuple[Sowing, ...]:
    return tuple(
        Sowing(
            bed=bed,
            block=block,
            day=day,
            crop=crop,
            setting=setting,
            length_m=length,
            area_m2=area,
            row_length_m=rows,
            ground_per_turn=_maybe(ground, ground_u),
            slip=_maybe(slip, slip_u),
            sure=sure,
            run=run,
            number=number,
        )
        for (
            bed, block, day, crop, setting, length, area, rows, ground, ground_u, slip, slip_u,
            sure, run, number,
        ) in db.execute(
            "SELECT s.bed, s.block, s.day, s.crop, s.setting, s.length_m, s.area_m2,"
            " s.row_length_m, s.ground_per_turn_m, s.ground_per_turn_u_m, s.slip, s.slip_u,"
            " s.sure, r.name, p.number FROM strips s JOIN passes p ON p.id = s.pass_id"
            f" JOIN runs r ON r.id = p.run_id {_STRIP_ORDER}"
        )
    )  # fmt: skip


def _sown(db: sqlite3.Connection) -> tuple[Sown, ...]:
    return tuple(
        Sown(crop=crop, setting=setting, day=day, passes=passes, area_m2=area, row_length_m=rows)
        for crop, setting, day, passes, area, rows in db.execute(
            "SELECT crop, setting, day, count(*), sum(area_m2), sum(row_length_m) FROM strips"
            " GROUP BY crop, setting, day ORDER BY day, crop, setting"
        )
    )
