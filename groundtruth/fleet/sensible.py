"""Rows as they come from files, in SQL: what no run can have is not known, and no text is null."""

from __future__ import annotations

from collections.abc import Iterable

from ..core.bounds import FIRST_DAY, LAST_DAY
from .columns import Kind

_GROUND, _STD = (1e-3, 1e3), (1e-7, 1e3)
BOUNDS = {
    "change": (-0.99, 100.0),
    "slip": (-10.0, 0.99),
    "in_use_m": _GROUND,
    "zero_slip_travel_m": _GROUND,
    "tyre_pressure_pa": (0.0, 1e7),
    "ballast_kg": (0.0, 1e5),
    "speed_m_s": (0.0, 100.0),
    "latitude_deg": (-90.0, 90.0),
    "longitude_deg": (-180.0, 180.0),
    "distance_m": (0.0, 1e6),
    "turns": (0.0, 1e9),
    "seconds": (0.0, 1e7),
}
"""The least and the most of the numbers. Our choice, far beyond what is usual; a standard
uncertainty and a ground per turn have theirs by the ends of their names."""
_COUNTS = (0, 10**9)


def sensible(columns: Iterable[tuple[str, Kind]], table: str) -> str:
    """A query for the columns of a table of files; NaN and infinities are beyond every bound."""
    return f"SELECT {', '.join(_one(name, kind) for name, kind in columns)} FROM {table}"


def _one(name: str, kind: Kind) -> str:
    if kind == "text":
        return f"coalesce({name}, '') AS {name}"
    if kind == "day":
        return _between(name, f"DATE '{FIRST_DAY}'", f"DATE '{LAST_DAY}'")
    if name == "passes":
        return f"CASE WHEN {name} BETWEEN 1 AND {_COUNTS[1]} THEN {name} ELSE 1 END AS {name}"
    if kind == "count":
        return _between(name, *_COUNTS)
    if kind == "number":
        return _between(name, *_bounds(name))
    return name


def _bounds(name: str) -> tuple[float, float]:
    if name in BOUNDS:
        return BOUNDS[name]
    if "std" in name:
        return _STD
    return _GROUND if name.startswith("ground_per_turn") else (0.0, 1e3)


def _between(name: str, least: object, most: object) -> str:
    return f"CASE WHEN {name} BETWEEN {least} AND {most} THEN {name} END AS {name}"
