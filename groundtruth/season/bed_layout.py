"""Lay all recorded passes out on beds and keep what comes of it."""

from __future__ import annotations

import sqlite3

from ..beds import Layout, lay_out
from ..core.errors import InputError
from .bed_tables import ANOMALIES, BEDS, STRIPS, StripSource
from .columns import insert, select
from .forms import now_text
from .layout_inputs import kept_assignments, map_beds, sown_passes
from .refusals import SeasonError
from .run_tables import PASSES, RUNS
from .schema import LAYERS


def lay_beds_out(db: sqlite3.Connection, *, anew: bool = False) -> Layout:
    """Lay all passes out on beds and write beds, strips and anomalies afresh.

    Assignments kept from before are used as far as no earlier run has come in between; ``anew``
    drops them all.
    """
    known = {} if anew else kept_assignments(db)
    try:
        layout = lay_out(sown_passes(db), beds=map_beds(db), known=known)
    except (ValueError, KeyError, TypeError, IndexError) as err:
        if isinstance(err, InputError):
            raise
        raise SeasonError(
            f"the record holds a pass or bed that cannot be laid out ({err}), perhaps drawn by "
            "another program; groundtruth season check and season restore help"
        ) from err
    joined = "FROM passes p JOIN runs r ON r.id = p.run_id"
    runs, passes = {}, {}
    for run, sown in select(db, {"r": RUNS, "p": PASSES}, joined):
        runs[run["key"]] = run
        passes[run["key"], sown["number"]] = sown
    for table in ("fitted_passes", "fits", "beds", "strips", "anomalies"):
        db.execute(f"DELETE FROM {table}")
        db.execute("DELETE FROM sqlite_sequence WHERE name = ?", (table,))
    _keep_assignments(db, layout, {key: run["id"] for key, run in runs.items()})
    for bed in layout.beds:
        BEDS.insert(db, bed)
    for strip in layout.strips:
        of_pass = passes[strip.run, strip.number]
        source = StripSource(strip=strip, of_pass=of_pass, day=runs[strip.run]["day"])
        STRIPS.insert(db, source, pass_id=of_pass["id"])
    for anomaly in layout.anomalies:
        earlier = runs[anomaly.earlier.run]["id"] if anomaly.earlier else None
        ANOMALIES.insert(db, anomaly, run_id=runs[anomaly.run]["id"], earlier_run_id=earlier)
    touch(db)
    return layout


def _keep_assignments(db: sqlite3.Connection, layout: Layout, run_ids: dict[str, int]) -> None:
    for key, assignments in layout.assignments.items():
        for one in assignments:
            row = {
                "run_id": run_ids[key],
                "block": one.block,
                "offset_m": one.offset.value,
                "offset_u_m": one.offset.std,
                "spacing_m": one.spacing.value,
                "spacing_u_m": one.spacing.std,
                "settled": int(one.settled),
            }
            fit_id = insert(db, "fits", row)
            db.executemany(
                "INSERT INTO fitted_passes (fit_id, number, place, sure) VALUES (?, ?, ?, ?)",
                [
                    (fit_id, number, bed, sure)
                    for number, bed, sure in zip(one.passes, one.beds, one.sure, strict=True)
                ],
            )


def touch(db: sqlite3.Connection) -> None:
    """Write envelope and last change of each layer [OGC 12-128r19, 1.1.3: informative]."""
    import shapely

    from ..io.geopackage import wkb_of

    for layer in LAYERS:
        shapes = [wkb_of(geom) for (geom,) in db.execute(f"SELECT geom FROM {layer}")]
        box: list[float | None] = [None] * 4
        if shapes:
            box = shapely.total_bounds(shapely.from_wkb(shapes)).tolist()
        db.execute(
            "UPDATE gpkg_contents SET last_change = ?, min_x = ?, min_y = ?, max_x = ?, max_y = ?"
            " WHERE table_name = ?",
            (now_text(), *box, layer),
        )
