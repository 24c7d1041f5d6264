"""Lay all recorded passes out on beds and keep what comes of it."""

from __future__ import annotations

import sqlite3

from ..beds import Layout, lay_out
from ..core.errors import InputError
from ..io.geopackage import Geometry, from_blob, to_blob
from .forms import now_text
from .refusals import SeasonError
from .run_rows import insert, kept_fits, map_beds, pair, sown_passes
from .schema import LAYERS


def lay_beds_out(db: sqlite3.Connection, *, anew: bool = False) -> Layout:
    """Lay all passes out on beds and write beds, strips and anomalies afresh.

    Assignments kept from before are used as far as no earlier run has come in between; ``anew``
    drops them all.
    """
    known = {} if anew else dict(kept_fits(db))
    try:
        layout = lay_out(sown_passes(db), beds=map_beds(db), known=known)
    except (ValueError, KeyError, TypeError, IndexError) as err:
        if isinstance(err, InputError):
            raise
        raise SeasonError(
            f"the record holds a pass or bed that cannot be laid out ({err}), perhaps drawn by "
            "another program; groundtruth season check and season restore help"
        ) from err
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
    for key, fits in layout.assignments.items():
        for fit in fits:
            fit_id = insert(
                db,
                "fits",
                {
                    "run_id": run_ids[key],
                    "block": fit.block,
                    **pair("offset", fit.offset, "_m"),
                    **pair("spacing", fit.spacing, "_m"),
                    "settled": int(fit.settled),
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
    for odd in layout.anomalies:
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
    for layer in LAYERS:
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
