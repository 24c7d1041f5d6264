"""A result as a data frame for pandas."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from .result import PassFigure, Result

if TYPE_CHECKING:
    from pandas import DataFrame, Series

_TEXTS = ("unit", "start_found", "end_found", "setting", "crop", "bed")
_QUANTITIES = {"distance": "_m", "turns": "", "ground_per_turn": "_m", "slip": ""}
"""Quantities of a pass with the end of their names that tells the unit; slip is a share."""


def result_frame(result: Result) -> DataFrame:
    """One row for each row unit on each pass; see `Result.to_frame`."""
    import pandas as pd

    rows = result.passes
    lines = {line.number: line for line in result.lines}
    made = pd.DataFrame({"number": pd.Series([row.number for row in rows], dtype="int64")})
    for name in _TEXTS:
        made[name] = pd.Series([getattr(row, name) for row in rows], dtype=object)
    made["start"] = _instants([row.start_s for row in rows])
    made["end"] = _instants([row.end_s for row in rows])
    for name, unit in _QUANTITIES.items():
        made[f"{name}{unit}"] = _values(rows, name, "value")
        made[f"{name}_u{unit}"] = _values(rows, name, "std")
    for name in ("axis_deg", "speed_m_s"):
        made[name] = pd.Series(
            [getattr(lines[row.number], name) if row.number in lines else None for row in rows],
            dtype="float64",
        )
    return made


def _values(rows: Sequence[PassFigure], name: str, part: str) -> Series[float]:
    import pandas as pd

    quantities = [getattr(row, name) for row in rows]
    return pd.Series([None if q is None else getattr(q, part) for q in quantities], dtype="float64")


def _instants(times_s: Sequence[float]) -> Series[float]:
    """Seconds since 1970 UTC as datetime64[ns, UTC], to the microsecond as in result.json."""
    import pandas as pd

    return pd.to_datetime(
        pd.Series([round(t * 1e6) for t in times_s], dtype="int64"), unit="us", utc=True
    ).astype("datetime64[ns, UTC]")
