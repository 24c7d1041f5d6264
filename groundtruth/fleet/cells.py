"""Coarse cells of a fleet as a layer that map programs open, a GeoPackage of polygons."""

from __future__ import annotations

import sqlite3

from ..core.errors import InputError
from ..io.geopackage import to_blob
from ..io.geopackage_tables import APPLICATION_ID, GEOPACKAGE, GEOPACKAGE_VERSION
from .data_set import Fleet

LEAST_FARMS = 5
"""A cell of fewer farms is left out: it would show one farm's figures to its neighbours."""
_CELLS = f"""
SELECT floor(longitude_deg / $1) * $1 AS west, floor(latitude_deg / $1) * $1 AS south,
  count(DISTINCT farm_key) AS farms, count(*) AS runs,
  avg(slip) AS slip, avg(change) AS change, avg(abs(change)) AS change_size
FROM runs
WHERE status = 'measured' AND farm_key <> '' AND abs(latitude_deg) <= 90
  AND abs(longitude_deg) <= 180
GROUP BY ALL HAVING count(DISTINCT farm_key) >= {LEAST_FARMS} ORDER BY ALL
"""
_COLUMNS = "farms, runs, slip, change, change_size"


def cell_layer(fleet: Fleet, *, size_deg: float) -> bytes:
    """A GeoPackage with the layer ``fleet_cells``: for each cell of ``size_deg`` the numbers of
    farms and runs, mean slip, mean change against the figure in use, and its mean size (shares).

    Raises
    ------
    InputError : no cell has five farms.
    """
    import shapely

    found = fleet.rows(_CELLS, size_deg)
    if not found:
        raise InputError(
            f"{fleet.folder}: no cell of {size_deg:g}° has {LEAST_FARMS} farms; take larger cells"
        )
    db = sqlite3.connect(":memory:")
    try:
        db.executescript(
            f"PRAGMA application_id = {APPLICATION_ID}; PRAGMA user_version = {GEOPACKAGE_VERSION};"
            + GEOPACKAGE
            + "CREATE TABLE fleet_cells (id INTEGER PRIMARY KEY, geom POLYGON NOT NULL, "
            "farms INTEGER NOT NULL, runs INTEGER NOT NULL, "
            "slip DOUBLE, change DOUBLE, change_size DOUBLE);"
        )
        boxes = []
        for cell in found:
            box = (cell["west"], cell["south"], cell["west"] + size_deg, cell["south"] + size_deg)
            boxes.append(box)
            values = [cell[name] for name in _COLUMNS.split(", ")]
            db.execute(
                f"INSERT INTO fleet_cells (geom, {_COLUMNS}) VALUES (?, ?, ?, ?, ?, ?)",
                [to_blob(shapely.box(*box)), *values],
            )
        west, south, east, north = zip(*boxes, strict=True)
        db.execute(
            "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, "
            "min_x, min_y, max_x, max_y, srs_id) VALUES ('fleet_cells', 'features', 'fleet_cells', "
            "'what the runs of a fleet say by cell', ?, ?, ?, ?, 4326)",
            [min(west), min(south), max(east), max(north)],
        )
        db.execute(
            "INSERT INTO gpkg_geometry_columns "
            "VALUES ('fleet_cells', 'geom', 'POLYGON', 4326, 0, 0)"
        )
        db.commit()
        return db.serialize()
    finally:
        db.close()
