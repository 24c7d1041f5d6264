"""The season's tables as data frames for pandas, with outlines for geopandas."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from .bed_tables import BEDS, SOWING_COLUMNS
from .columns import RecordColumn, Row
from .run_tables import ROW_UNITS, RUNS

if TYPE_CHECKING:
    from pandas import DataFrame

    from .query import Season

GEOMETRY = "geometry"


def season_frame(season: Season, table: str) -> DataFrame:
    """One of the season's `FRAMES`; see `Season.to_frame`.

    Raises
    ------
    ValueError : there is no such table.
    """
    if table not in FRAMES:
        raise ValueError(f"{table!r} is no table of a season; there are {', '.join(FRAMES)}")
    return FRAMES[table](season)


def _runs(season: Season) -> DataFrame:
    return _frame(
        RUNS.columns,
        [r.recorded for r in season.runs],
        passes=[r.passes for r in season.runs],
        changes_before=[r.phase for r in season.runs],
    )


def _passes(season: Season) -> DataFrame:
    rows = [s.recorded for s in season.sowings]
    of_run = {name: [getattr(s, name) for s in season.sowings] for name in ("run", "seeder")}
    return _frame(SOWING_COLUMNS, rows, **of_run)


def _beds(season: Season) -> DataFrame:
    rows = [
        {"geom": b.outline, **{c.name: getattr(b, c.name) for c in BEDS.columns[1:]}}
        for b in season.beds
    ]
    return _frame(BEDS.columns, rows)


def _row_units(season: Season) -> DataFrame:
    more = {n: [row[n] for row in season.row_units] for n in ("run", "day", "seeder")}
    return _frame(ROW_UNITS.columns, season.row_units, **more)


FRAMES: dict[str, Callable[[Season], DataFrame]] = {
    "runs": _runs,
    "passes": _passes,
    "beds": _beds,
    "row_units": _row_units,
}


def _frame(
    columns: Sequence[RecordColumn[Any]], rows: Sequence[Row], **more: list[Any]
) -> DataFrame:
    """A frame of these columns; what the rows have besides stands first."""
    import numpy as np
    import pandas as pd

    made = pd.DataFrame(more, index=range(len(rows)))
    outline = None
    for column in columns:
        values = [row[column.name] for row in rows]
        if column.kind == "GEOMETRY":
            outline = values
        elif column.kind == "MEASURED":
            (value, _), (std, _) = column.fields
            made[value] = [np.nan if v is None else v.value for v in values]
            made[std] = [np.nan if v is None else v.std for v in values]
        else:
            made[column.fields[0][0]] = _values(column, values)
    if outline is None:
        return made
    try:
        import geopandas  # type: ignore[import-untyped, import-not-found, unused-ignore]
    except ImportError:
        made[GEOMETRY] = pd.Series(outline, dtype=object)
        return made
    framed: DataFrame = geopandas.GeoDataFrame(made, geometry=outline, crs="EPSG:4326")
    return framed


def _values(column: RecordColumn[Any], values: list[Any]) -> Any:
    import numpy as np
    import pandas as pd

    from ..core.frames import utc_times

    if column.kind == "DATETIME":
        return utc_times(np.array(values, dtype=float))
    if column.kind == "DATE":
        return pd.to_datetime(pd.Series(values)).astype("datetime64[ns]")
    if column.kind == "DOUBLE":
        return pd.Series(values, dtype="float64")
    if column.kind == "INTEGER" and None in values:
        return pd.Series(values, dtype="Int64")
    return values
