"""What beds are laid out from: recorded passes, the grower's map, assignments kept from before."""

from __future__ import annotations

import sqlite3

from ..core.beds import BedAssignment, MapBed, SownPass
from ..core.measured import Measured
from ..io.json_values import time_of_utc
from .bed_tables import MAP_BEDS
from .columns import select
from .run_tables import GROUND, PASSES, ROW_UNITS, RUNS, TURN_COUNTS


def sown_passes(db: sqlite3.Connection) -> dict[str, list[SownPass]]:
    """The passes of every run by the run's key, as `beds.lay_out` takes them."""
    found: dict[str, list[SownPass]] = {}
    counted = _counted_lengths(db)
    joined = "FROM passes p JOIN runs r ON r.id = p.run_id ORDER BY p.start_at, p.id"
    for run, sown in select(db, {"r": RUNS, "p": PASSES}, joined):
        way = sown["geom"].coords
        inner = list(zip(map(time_of_utc, sown["times"].split()), way, strict=True))[1:-1]
        found.setdefault(run["key"], []).append(
            SownPass(
                run=run["key"],
                number=sown["number"],
                start_s=sown["start_at"],
                end_s=sown["end_at"],
                axis=(way[0], way[-1]),
                positions=tuple((t, lon, lat) for t, (lon, lat) in inner),
                bed_name=sown["bed_written"],
                crop=sown["crop"],
                setting=sown["setting"],
                length=None if sown["distance"] is None else counted.get(sown["id"]),
                length_scale_u=run["ground_per_turn"].relative,
                width_m=run["bed_width"],
                rows=run["row_units"] or 1,
                ahead_m=run["antenna_ahead"],
                right_m=run["antenna_right"],
                bed_spacing_m=run["bed_spacing"],
                scatter_m=sown["scatter"],
                day=run["day"],
                seeder=run["seeder"],
            )
        )
    return found


def _counted_lengths(db: sqlite3.Connection) -> dict[int, Measured]:
    """Ground sown on each pass from its turns and what the whole run says a turn covers [m].

    Turns tell lengths apart far better than one pass's positions do: what is left is the counting
    and the spread between passes. Each unit counts with its own figure, so that one that lags
    shortens nothing.
    """
    found: dict[int, list[Measured]] = {}
    spreads = {run["id"]: run["spread"] for (run,) in select(db, {"r": RUNS}, "FROM runs r")}
    joined = (
        "FROM turn_counts t JOIN passes p ON p.id = t.pass_id"
        " JOIN row_units u ON u.run_id = p.run_id AND u.unit = t.unit ORDER BY t.id"
    )
    for count, unit in select(db, {"t": TURN_COUNTS, "u": ROW_UNITS}, joined):
        turns, ground, spread = count["turns"], unit[GROUND], spreads.get(unit["run_id"])
        if turns and spread and ground and ground.value > 0:
            length = turns.times(Measured(ground.value, spread.value))
            found.setdefault(count["pass_id"], []).append(length)
    return {
        pass_id: Measured(
            sum(one.value for one in lengths) / len(lengths), max(one.std for one in lengths)
        )
        for pass_id, lengths in found.items()
    }


def map_beds(db: sqlite3.Connection) -> list[MapBed]:
    """The grower's own map."""
    return [
        MapBed(
            name=bed["name"],
            block=bed["block"],
            ends=(bed["geom"].coords[0], bed["geom"].coords[-1]),
            width_m=bed["width"],
        )
        for (bed,) in select(db, {"m": MAP_BEDS}, "FROM map_beds m ORDER BY m.id")
    ]


def kept_assignments(db: sqlite3.Connection) -> dict[str, list[BedAssignment]]:
    """The assignments of earlier layouts by the run's key."""
    passes: dict[int, list[tuple[int, int, float]]] = {}
    for fit_id, number, place, sure in db.execute(
        "SELECT fit_id, number, place, sure FROM fitted_passes ORDER BY id"
    ):
        passes.setdefault(fit_id, []).append((number, place, sure))
    found: dict[str, list[BedAssignment]] = {}
    for fit_id, key, block, offset, offset_u, spacing, spacing_u, settled in db.execute(
        "SELECT f.id, r.key, f.block, f.offset_m, f.offset_u_m, f.spacing_m, f.spacing_u_m,"
        " f.settled FROM fits f JOIN runs r ON r.id = f.run_id ORDER BY f.id"
    ):
        if fit_id not in passes:
            continue
        numbers, places, sure = zip(*passes[fit_id], strict=True)
        found.setdefault(key, []).append(
            BedAssignment(
                block=block,
                passes=numbers,
                beds=places,
                sure=sure,
                offset=Measured(offset, offset_u),
                spacing=Measured(spacing, spacing_u),
                settled=bool(settled),
            )
        )
    return found
