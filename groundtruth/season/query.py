"""What the record answers: figures to compare, what lies where, a bed's sowings."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass, field, fields
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..beds import Anomaly, AnomalyKind, PassReference
from ..core.beds import BlockBed
from ..core.measured import Measured
from ..core.run import UnitSystem
from .bed_tables import ANOMALIES, BEDS, STRIPS
from .columns import Row, select
from .comparison import RunFigure, UnitRun
from .noted_tables import SEEDER_CHANGES, SeederChange
from .run_tables import PASSES, ROW_UNITS, RUNS
from .seeders import names_in_order
from .slip_along import StripPart, strip_parts
from .store import reading

if TYPE_CHECKING:
    from folium import Map
    from pandas import DataFrame
    from shapely import Polygon

WHEEL_CHANGES = ("tyre", "wheel", "gear", "pressure")
"""Changes that move the ground per turn, so that runs before and after are told apart."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BedSowing:
    """One sowing of a bed: a pass on its strip.

    ``recorded`` holds all columns of the pass and of its strip, ``sure`` is the posterior
    probability of the bed.
    """

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
    outline: Polygon
    seeder: str = ""
    recorded: Row = field(default_factory=dict, repr=False, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class SownTotal:
    """Area and row length sown of one crop at one setting on one day."""

    crop: str
    setting: str
    day: str
    passes: int
    area_m2: float
    row_length_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """All of it at one instant. ``units`` are those of the latest run; ``strip_parts`` are parts of
    ``sowings``; ``row_units`` are rows of the record with the run's name and day."""

    runs: tuple[RunFigure, ...]
    row_units: tuple[Row, ...]
    changes: tuple[SeederChange, ...]
    sowings: tuple[BedSowing, ...]
    sown: tuple[SownTotal, ...]
    anomalies: tuple[Anomaly, ...]
    beds: tuple[BlockBed, ...]
    units: UnitSystem
    strip_parts: tuple[StripPart, ...] = ()

    @property
    def blocks(self) -> tuple[str, ...]:
        """Names of the blocks, in order."""
        return tuple(dict.fromkeys(bed.block for bed in self.beds))

    @property
    def seeders(self) -> tuple[str, ...]:
        """Names of the seeders, by the day of their first run; none where no run names one."""
        return names_in_order(run.seeder for run in self.runs)

    @property
    def unit_runs(self) -> tuple[UnitRun, ...]:
        """Row units beside others, run by run; with the seeder's name where it has one."""
        return tuple(
            UnitRun(
                day=row["day"],
                unit=f"{row['seeder']}: {row['unit']}" if row["seeder"] else row["unit"],
                turns_against_others=row["turns_against_others"],
                passes=row["passes"],
                lags=row["lags"],
            )
            for row in self.row_units
            if row["turns_against_others"] is not None
        )

    def to_frame(self, table: str) -> DataFrame:
        """The "runs", "passes", "beds" or "row_units" as a `pandas.DataFrame`, SI units.

        Passes and beds have their outline in ``geometry``, in degrees on WGS 84; where geopandas is
        installed they come as a `geopandas.GeoDataFrame`. Instants are ``datetime64[ns, UTC]``.

        Raises
        ------
        ValueError : there is no such table.
        """
        from .frames import season_frame

        return season_frame(self, table)

    def to_folium(self, *, by: str = "crop", tiles: bool = False) -> Map:
        """The strips on their beds as a folium map, which shows itself in a notebook.

        They are coloured ``by`` "crop", "setting", "day", "slip" or "ground" (per turn), where
        those are known. Nothing is loaded from a network, but a background of online map tiles with
        ``tiles``.

        Raises
        ------
        ValueError : the strips cannot be coloured by this.
        ImportError : folium is not installed; ``pip install groundtruth[notebook]`` brings it.
        """
        # maps are drawn a floor up: an import against the floors, by name and late
        notebook = import_module("groundtruth.views.notebook")
        shown: Map = notebook.season_map(self, by=by, tiles=tiles)
        return shown


def read_season(path: Path) -> Season:
    """Read what can be asked of the record.

    Raises
    ------
    SeasonError : there is no record, or it cannot be used.
    """
    with reading(path) as db:
        changes = _changes(db)
        row = db.execute("SELECT units FROM runs ORDER BY day DESC, id DESC LIMIT 1").fetchone()
        strips = list(select(db, {"s": STRIPS, "p": PASSES, "r": RUNS}, _STRIPS_IN_ORDER))
        return Season(
            runs=_runs(db, changes),
            row_units=_row_units(db),
            changes=changes,
            sowings=tuple(_sowing(*rows) for rows in strips),
            sown=_sown(db),
            anomalies=_anomalies(db),
            beds=beds_laid_out(db),
            units="us" if row and row[0] == "us" else "metric",
            strip_parts=strip_parts(db, [(p, s["geom"]) for s, p, _ in strips]),
        )


_STRIPS_IN_ORDER = (
    "FROM strips s JOIN passes p ON p.id = s.pass_id JOIN runs r ON r.id = p.run_id"
    " LEFT JOIN beds b ON b.name = s.bed AND b.block = s.block"
    " ORDER BY s.block, b.place, s.day, p.start_at, s.id"
)


def _changes(db: sqlite3.Connection) -> tuple[SeederChange, ...]:
    rows = select(db, {"c": SEEDER_CHANGES}, "FROM seeder_changes c ORDER BY c.day, c.id")
    return tuple(
        SeederChange(**_of(SeederChange, change), number=change["id"]) for (change,) in rows
    )


def _runs(db: sqlite3.Connection, changes: tuple[SeederChange, ...]) -> tuple[RunFigure, ...]:
    """A run on the day of a change counts as after it: a tyre is changed before the work."""
    passes = dict(db.execute("SELECT run_id, count(*) FROM passes GROUP BY run_id").fetchall())
    return tuple(
        RunFigure(
            **_of(RunFigure, run),
            passes=passes.get(run["id"], 0),
            phase=sum(
                c.day <= run["day"] and c.kind in WHEEL_CHANGES and c.seeder in ("", run["seeder"])
                for c in changes
            ),
            recorded=run,
        )
        for (run,) in select(db, {"r": RUNS}, "FROM runs r ORDER BY r.day, r.id")
    )


def _of(kind: type, row: Row) -> dict[str, Any]:
    """The values of a row that a class has fields for, by their names."""
    return {f.name: row[f.name] for f in fields(kind) if f.name in row}


def _row_units(db: sqlite3.Connection) -> tuple[Row, ...]:
    joined = "FROM row_units u JOIN runs r ON r.id = u.run_id ORDER BY r.day, u.id"
    return tuple(
        {"run": run["name"], "day": run["day"], "seeder": run["seeder"], **unit}
        for unit, run in select(db, {"u": ROW_UNITS, "r": RUNS}, joined)
    )


def _sowing(strip: Row, of_pass: Row, run: Row) -> BedSowing:
    return BedSowing(
        bed=strip["bed"],
        block=strip["block"],
        day=strip["day"],
        crop=strip["crop"],
        setting=strip["setting"],
        length_m=strip["length"],
        area_m2=strip["area"],
        row_length_m=strip["row_length"],
        ground_per_turn=strip["ground_per_turn"],
        slip=strip["slip"],
        sure=strip["sure"],
        run=run["name"],
        seeder=run["seeder"],
        number=of_pass["number"],
        outline=strip["geom"],
        recorded={**of_pass, **strip},
    )


def _sown(db: sqlite3.Connection) -> tuple[SownTotal, ...]:
    return tuple(
        SownTotal(
            crop=crop, setting=setting, day=day, passes=passes, area_m2=area, row_length_m=rows
        )
        for crop, setting, day, passes, area, rows in db.execute(
            "SELECT crop, setting, day, count(*), sum(area_m2), sum(row_length_m) FROM strips"
            " GROUP BY crop, setting, day ORDER BY day, crop, setting"
        )
    )


def _anomalies(db: sqlite3.Connection) -> tuple[Anomaly, ...]:
    runs = {key_id: (key, day) for key_id, key, day in db.execute("SELECT id, key, day FROM runs")}
    found = []
    for (row,) in select(db, {"a": ANOMALIES}, "FROM anomalies a ORDER BY a.day, a.id"):
        earlier = None
        if row["earlier_run_id"] is not None:
            key, day = runs[row["earlier_run_id"]]
            earlier = PassReference(run=key, day=day, number=row["earlier_number"])
        found.append(
            Anomaly(
                kind=AnomalyKind(row["kind"]),
                block=row["block"],
                bed=row["bed"],
                run=runs[row["run_id"]][0],
                day=row["day"],
                passes=row["passes"],
                sure=row["sure"],
                earlier=earlier,
                share=row["share"],
            )
        )
    return tuple(found)


def beds_laid_out(db: sqlite3.Connection) -> tuple[BlockBed, ...]:
    """The beds by block, in order across it."""
    rows = select(db, {"b": BEDS}, "FROM beds b ORDER BY b.block, b.place")
    return tuple(BlockBed(outline=bed["geom"], **_of(BlockBed, bed)) for (bed,) in rows)
