"""Put runs and what belongs to them into the record; lay the beds out anew where that is due."""

from __future__ import annotations

import sqlite3
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Literal

from ..beds import Layout, MapBed, lay_out
from ..measured import Measured
from ..metering import BenchCount, dispersion_of, setting_figure
from ..result import Result
from ..resultjson import result_from_json, result_to_json, utc_text
from ..slipalong import SlipPart
from ..stands import StandCount
from .geometry import Geometry, from_blob, to_blob
from .rows import (
    insert,
    insert_run,
    kept_fits,
    map_beds,
    pair,
    run_key,
    seconds,
    sown_passes,
)
from .store import SeasonError, now_text, reading, writing

CHANGES = ("tyre", "wheel", "gear", "pressure", "unit serviced", "other")
"""Kinds of change on a seeder that a record knows."""
SAME_PASS_S = 0.5
"""Two passes of one place that share more than this part of their time are one pass."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Added:
    """What became of something handed to the record."""

    what: str
    outcome: Literal["added", "already there", "replaced"]
    text: str


def add_run(
    path: Path,
    result: Result,
    *,
    seeder: str = "",
    soil: str = "",
    note: str = "",
    replace: bool = False,
    along: Sequence[SlipPart] = (),
) -> Added:
    """Record a measured run; the same run again changes nothing.

    ``along`` is slip on parts of its passes, where turns were timed (see `slipalong`).

    Raises
    ------
    SeasonError : the file cannot be used, or it holds passes of this run already, measured from
        other files or with another outcome, and ``replace`` was not asked for.
    """
    with writing(path) as db:
        outcome = _add_run(db, result, seeder=seeder, soil=soil, note=note, replace=replace)
        if outcome != "already there":
            _insert_along(db, run_key(result), along)
            lay_beds_out(db)
    label = f"{result.run_name}, {result.date}"
    said = {
        "added": f"{label}: added, {len(result.lines)} passes",
        "already there": f"{label}: is recorded already; nothing was changed",
        "replaced": f"{label}: put in place of the run recorded before",
    }
    return Added(what="run", outcome=outcome, text=said[outcome])


def _add_run(
    db: sqlite3.Connection, result: Result, *, seeder: str, soil: str, note: str, replace: bool
) -> Literal["added", "already there", "replaced"]:
    text = result_to_json(result)
    old = db.execute(
        "SELECT r.id, s.json_zlib FROM runs r JOIN results s ON s.run_id = r.id WHERE r.key = ?",
        (run_key(result),),
    ).fetchone()
    if old and zlib.decompress(old[1]).decode("ascii") == text:
        return "already there"
    clash = {old[0]} if old else _overlapping(db, result)
    if clash and not replace:
        names = db.execute(
            f"SELECT name, day, tool_version FROM runs WHERE id IN ({_marks(clash)})",
            tuple(clash),
        ).fetchall()
        shown = "; ".join(f"{name}, {day}" for name, day, _ in names)
        why = "measured with another outcome" if old else "from other files"
        raise SeasonError(
            f"{result.run_name}, {result.date}: the record holds passes of this run already "
            f"({shown}), {why}; add it with --replace to put this one in its place"
        )
    for run_id in clash:
        db.execute("DELETE FROM runs WHERE id = ?", (run_id,))
    insert_run(db, result, seeder=seeder, soil=soil, note=note, added_at=now_text())
    return "replaced" if clash else "added"


def _insert_along(db: sqlite3.Connection, key: str, along: Sequence[SlipPart]) -> None:
    pass_ids = dict(
        db.execute(
            "SELECT p.number, p.id FROM passes p JOIN runs r ON r.id = p.run_id WHERE r.key = ?",
            (key,),
        ).fetchall()
    )
    for part in along:
        insert(
            db,
            "slip_along",
            {
                "geom": to_blob(Geometry("LINESTRING", part.line)),
                "pass_id": pass_ids[part.number],
                "unit": part.unit,
                "from_m": part.from_m,
                "to_m": part.to_m,
                **pair("ground_per_turn", part.ground_per_turn, "_m"),
                **pair("slip", part.slip),
            },
        )


def _marks(values: set[int]) -> str:
    return ", ".join("?" * len(values))


def _overlapping(db: sqlite3.Connection, result: Result) -> set[int]:
    """Recorded runs that hold a pass of this one: at the same time in the same place."""
    found = set()
    figures = {f.number: f for f in result.passes}
    for line in result.lines:
        figure = figures.get(line.number)
        if figure is None or not line.time_s:
            continue
        rows = db.execute(
            "SELECT run_id, start_at, end_at, geom FROM passes WHERE start_at < ? AND end_at > ?",
            (utc_text(figure.end_s), utc_text(figure.start_s)),
        )
        for run_id, start, end, geom in rows:
            shared = min(figure.end_s, seconds(end)) - max(figure.start_s, seconds(start))
            if shared > SAME_PASS_S * (figure.end_s - figure.start_s) and _near(line.axis[0], geom):
                found.add(run_id)
    return found


def _near(place: tuple[float, float], blob: bytes) -> bool:
    """Within about 50 m of either end of a recorded pass: two seeders work farther apart."""
    ends = from_blob(blob).points
    reach = 50 / 111_320
    return any(
        abs(place[1] - lat) < reach and abs(place[0] - lon) < 2 * reach
        for lon, lat in (ends[0], ends[-1])
    )


def lay_beds_out(db: sqlite3.Connection, *, anew: bool = False) -> Layout:
    """Lay all passes out on beds and write beds, strips and oddities afresh.

    Fits kept from before are used as far as no earlier run has come in between; ``anew`` drops
    them all.
    """
    layout = lay_out(sown_passes(db), beds=map_beds(db), known={} if anew else dict(kept_fits(db)))
    run_ids = dict(db.execute("SELECT key, id FROM runs").fetchall())
    pass_rows = {
        (key, number): rest
        for key, number, *rest in db.execute(
            "SELECT r.key, p.number, p.id, p.ground_per_turn_m, p.ground_per_turn_u_m, p.slip,"
            " p.slip_u, r.day FROM passes p JOIN runs r ON r.id = p.run_id"
        )
    }
    for table in ("fitted_passes", "fits", "beds", "strips", "oddities"):
        db.execute(f"DELETE FROM {table}")
        db.execute("DELETE FROM sqlite_sequence WHERE name = ?", (table,))
    for key, fits in layout.fits.items():
        for fit in fits:
            fit_id = insert(
                db,
                "fits",
                {
                    "run_id": run_ids[key],
                    "block": fit.block,
                    **pair("offset", fit.offset, "_m"),
                    **pair("spacing", fit.spacing, "_m"),
                },
            )
            db.executemany(
                "INSERT INTO fitted_passes (fit_id, number, place, sure) VALUES (?, ?, ?, ?)",
                [
                    (fit_id, number, bed, sure)
                    for number, bed, sure in zip(fit.passes, fit.beds, fit.sure, strict=True)
                ],
            )
    for bed in layout.beds:
        insert(
            db,
            "beds",
            {
                "geom": to_blob(Geometry("POLYGON", bed.outline)),
                "name": bed.name,
                "block": bed.block,
                "place": bed.place,
                "mapped": int(bed.mapped),
                "sowings": bed.sowings,
            },
        )
    for strip in layout.strips:
        pass_id, ground, ground_u, slip, slip_u, day = pass_rows[strip.run, strip.number]
        insert(
            db,
            "strips",
            {
                "geom": to_blob(Geometry("POLYGON", strip.outline)),
                "pass_id": pass_id,
                "block": strip.block,
                "bed": strip.bed,
                "sure": strip.sure,
                "day": day,
                "crop": strip.crop,
                "setting": strip.setting,
                "length_m": strip.length_m,
                "width_m": strip.width_m,
                "area_m2": strip.area_m2,
                "rows": strip.rows,
                "row_length_m": strip.row_length_m,
                "ground_per_turn_m": ground,
                "ground_per_turn_u_m": ground_u,
                "slip": slip,
                "slip_u": slip_u,
            },
        )
    days = dict(db.execute("SELECT key, day FROM runs").fetchall())
    for odd in layout.oddities:
        insert(
            db,
            "oddities",
            {
                "run_id": run_ids[odd.run],
                "kind": odd.kind,
                "block": odd.block,
                "bed": odd.bed,
                "number": odd.number,
                "day": days[odd.run],
                "text": odd.text,
                "sure": odd.sure,
            },
        )
    touch(db)
    return layout


def touch(db: sqlite3.Connection) -> None:
    """Envelope and last change of each layer [OGC 12-128r19, 1.1.3: informative]."""
    layers = db.execute("SELECT table_name FROM gpkg_geometry_columns").fetchall()
    for (layer,) in layers:
        points = [
            point
            for (geom,) in db.execute(f"SELECT geom FROM {layer}")
            for point in from_blob(geom).points
        ]
        box: tuple[float | None, ...] = (None, None, None, None)
        if points:
            lons, lats = zip(*points, strict=True)
            box = (min(lons), min(lats), max(lons), max(lats))
        db.execute(
            "UPDATE gpkg_contents SET last_change = ?, min_x = ?, min_y = ?, max_x = ?, max_y = ?"
            " WHERE table_name = ?",
            (now_text(), *box, layer),
        )


def set_map(path: Path, beds: Sequence[MapBed]) -> Added:
    """Take the grower's own map of beds, in place of an earlier one, and lay out anew.

    Raises
    ------
    SeasonError : the file cannot be used, or two beds have one name.
    """
    names = [b.name for b in beds]
    twice = next((n for n in names if names.count(n) > 1), None)
    if twice is not None:
        raise SeasonError(f"two beds of the map are called {twice!r}; give each its own name")
    with writing(path) as db:
        if map_beds(db) == list(beds):
            return Added(
                what="map", outcome="already there", text="this map is recorded already; "
                "nothing was changed",
            )  # fmt: skip
        had = db.execute("SELECT count(*) FROM map_beds").fetchone()[0]
        db.execute("DELETE FROM map_beds")
        for bed in beds:
            insert(
                db,
                "map_beds",
                {
                    "geom": to_blob(Geometry("LINESTRING", bed.ends)),
                    "name": bed.name,
                    "block": bed.block,
                    "width_m": bed.width_m,
                },
            )
        lay_beds_out(db, anew=True)
    return Added(
        what="map",
        outcome="replaced" if had else "added",
        text=f"map of {len(beds)} beds {'put in place of the old one' if had else 'added'}",
    )


def add_change(
    path: Path, *, day: date, kind: str, seeder: str = "", unit: str = "", note: str = ""
) -> Added:
    """Record a change on a seeder; the same again changes nothing."""
    row = {"day": day.isoformat(), "kind": kind, "seeder": seeder, "unit": unit, "note": note}
    with writing(path) as db:
        there = db.execute(
            "SELECT 1 FROM seeder_changes WHERE day = ? AND kind = ? AND seeder = ? AND unit = ?"
            " AND note = ?",
            tuple(row.values()),
        ).fetchone()
        if not there:
            insert(db, "seeder_changes", row)
    text = f"{kind}, {day.isoformat()}"
    if there:
        return Added(
            what="change", outcome="already there", text=f"{text}: is recorded already; "
            "nothing was changed",
        )  # fmt: skip
    return Added(what="change", outcome="added", text=f"{text}: added")


def add_bench(path: Path, counts: Sequence[BenchCount], sha256: str) -> Added:
    """Record the counts of a bench sheet; a sheet that is there already changes nothing."""
    with writing(path) as db:
        if db.execute("SELECT 1 FROM bench_counts WHERE sha256 = ?", (sha256,)).fetchone():
            return _sheet_there("bench sheet")
        for count in counts:
            insert(
                db,
                "bench_counts",
                {
                    "sha256": sha256,
                    "line": count.line,
                    "crop": count.crop,
                    "seed_lot": count.seed_lot,
                    "setting": count.setting,
                    "turns": count.turns,
                    **pair("seeds", count.seeds),
                    "shared_relative_u": count.shared_relative,
                    "turns_per_minute": count.turns_per_minute,
                },
            )
        _write_settings(db)
    return Added(
        what="bench sheet", outcome="added", text=f"bench sheet: {len(counts)} catches added"
    )


def _write_settings(db: sqlite3.Connection) -> None:
    """Seeds per turn at each setting from all bench counts, written afresh."""
    counts = [
        BenchCount(
            crop=crop,
            seed_lot=lot,
            setting=setting,
            turns=turns,
            seeds=Measured(seeds, seeds_u),
            shared_relative=shared,
        )
        for crop, lot, setting, turns, seeds, seeds_u, shared in db.execute(
            "SELECT crop, seed_lot, setting, turns, seeds, seeds_u, shared_relative_u"
            " FROM bench_counts ORDER BY id"
        )
    ]
    db.execute("DELETE FROM settings")
    for crop, lot in dict.fromkeys((c.crop, c.seed_lot) for c in counts):
        mine = [c for c in counts if (c.crop, c.seed_lot) == (crop, lot)]
        dispersion = dispersion_of(mine)
        for setting in dict.fromkeys(c.setting for c in mine):
            figure = setting_figure([c for c in mine if c.setting == setting], dispersion)
            insert(
                db,
                "settings",
                {
                    "crop": crop,
                    "seed_lot": lot,
                    "setting": figure.setting,
                    "catches": figure.catches,
                    "turns": figure.turns,
                    **pair("seeds_per_turn", figure.seeds_per_turn),
                    "seeds_per_turn_low": figure.seeds_per_turn_95[0],
                    "seeds_per_turn_high": figure.seeds_per_turn_95[1],
                },
            )


def add_stands(path: Path, counts: Sequence[StandCount], sha256: str) -> Added:
    """Record the counts of a stand sheet; a sheet that is there already changes nothing."""
    with writing(path) as db:
        if db.execute("SELECT 1 FROM stand_counts WHERE sha256 = ?", (sha256,)).fetchone():
            return _sheet_there("stand sheet")
        for count in counts:
            insert(
                db,
                "stand_counts",
                {
                    "sha256": sha256,
                    "line": count.line,
                    "day": str(count.day or ""),
                    "crop": count.crop,
                    "seed_lot": count.seed_lot,
                    "bed": count.bed,
                    "line_of_bed": count.line_of_bed,
                    "length_m": count.length_m,
                    "plants": count.plants,
                    "seeds_per_m": count.seeds_per_m,
                },
            )
    return Added(
        what="stand sheet", outcome="added", text=f"stand sheet: {len(counts)} counts added"
    )


def _sheet_there(what: str) -> Added:
    return Added(
        what=what, outcome="already there", text=f"{what}: is recorded already; nothing was changed"
    )


def results(path: Path) -> list[Result]:
    """Every run's whole result, in order of the day."""
    with reading(path) as db:
        packed = db.execute(
            "SELECT r.name, s.json_zlib FROM results s JOIN runs r ON r.id = s.run_id"
            " ORDER BY r.day, r.id"
        ).fetchall()
    return [result_from_json(zlib.decompress(p).decode("ascii"), name) for name, p in packed]
