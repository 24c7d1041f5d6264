"""The row of a run that may leave its farm, and what a fleet keeps of it.

It says roughly where and when, on what tyre and soil, and how far the ground per turn was from the
figure in use and from the rolling wheel: no line, no instant, no name.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict, dataclass
from datetime import date
from math import exp, expm1, floor, isfinite, log
from typing import Any

from ..core.errors import InputError
from ..core.origin import Moisture, Texture
from ..core.result import Result
from .cells import LEAST_FARMS
from .columns import Row, empty_row
from .data_set import SHARED, Fleet

SIZES_DEG = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0)
"""Sides of a cell; a degree of latitude is 111 km."""
_DECIMALS = 4
_MOST_PASSES = 100_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """A cell by its south-west corner and its side, in degrees.

    Raises
    ------
    InputError : it is not one of the cells that are shared.
    """

    south_deg: float
    west_deg: float
    size_deg: float

    def __post_init__(self) -> None:
        size = self.size_deg
        if size not in SIZES_DEG:
            known = ", ".join(f"{one:g}" for one in SIZES_DEG)
            raise InputError(f"size_deg is {size:g}; it must be one of {known}", column="size_deg")
        for name, value, most in (
            ("south_deg", self.south_deg, 90),
            ("west_deg", self.west_deg, 180),
        ):
            if not -most <= value < most or value != floor(value / size) * size:
                raise InputError(f"{name} is {value:g}; no cell begins there", column=name)


@dataclass(frozen=True, slots=True, kw_only=True)
class SharedRow:
    """What may leave a farm. ``week`` is that of ISO 8601, "2027-W19"; ``model`` of the seeder, ""
    where it was not given. ``log_ratio_in_use`` and ``log_ratio_rolled`` are logarithms of ground
    per turn over the figure in use and over the zero-slip travel, None where these are not known;
    ``u`` is the standard uncertainty of the logarithm of ground per turn.

    Raises
    ------
    InputError : a figure is out of its bounds, or both ratios are missing.
    """

    cell: Cell | None
    week: str
    model: str
    tyre: str
    moisture: Moisture | None
    texture: Texture | None
    log_ratio_in_use: float | None
    log_ratio_rolled: float | None
    u: float
    passes: int
    version: str

    def __post_init__(self) -> None:
        ratios = [r for r in (self.log_ratio_in_use, self.log_ratio_rolled) if r is not None]
        if not ratios:
            raise InputError(
                "has neither a figure in use nor a wheel circumference, so that there is nothing "
                "to share"
            )
        if not all(isfinite(r) and abs(r) <= 1 for r in ratios):
            raise InputError("a log ratio lies beyond 1: no seeder is so far off")
        if not 0 < self.u <= 1:
            raise InputError(f"u is {self.u:g}; it must be above 0 and at most 1", column="u")
        if not 1 <= self.passes <= _MOST_PASSES:
            raise InputError(f"passes is {self.passes}; it must be 1 or more", column="passes")
        self.monday  # noqa: B018 - refuses what is no week

    @property
    def monday(self) -> date:
        """The first day of the week."""
        year, mark, number = self.week.partition("-W")
        try:
            if not mark or len(number) != 2 or not 1980 <= int(year) <= 2099:
                raise ValueError
            return date.fromisocalendar(int(year), int(number), 1)
        except ValueError:
            raise InputError(
                f"week is {self.week[:20]!r}; it must be as 2027-W19", column="week"
            ) from None


def shared_row(result: Result, *, model: str = "", fleet: Fleet | None = None) -> SharedRow:
    """The row of a result.

    The cell is half a degree wide without a ``fleet``; with one it is the smallest in which that
    has five farms, and left out where none has.

    Raises
    ------
    InputError : the result has nothing to share, or is not credible.
    """
    if not result.is_credible:
        raise InputError("its figure cannot be true, as its report says; do not share it")
    ground, slip, change = result.ground_per_turn, result.slip, result.change
    day = date.fromisoformat(result.date).isocalendar()
    place = _place(result)
    return SharedRow(
        cell=None if place is None else _cell(place, fleet),
        week=f"{day.year}-W{day.week:02d}",
        model=model,
        tyre=result.seeder.tyre,
        moisture=result.soil.moisture,
        texture=result.soil.texture,
        log_ratio_in_use=None if change is None else round(log(1 + change.value), _DECIMALS),
        log_ratio_rolled=None if slip is None else round(-log(1 - slip.value), _DECIMALS),
        u=max(round(ground.relative, _DECIMALS), 10.0**-_DECIMALS),
        passes=len({figure.number for figure in result.passes}),
        version=result.tool_version,
    )


def _place(result: Result) -> tuple[float, float] | None:
    """Longitude and latitude of the middle of the first pass, None without a pass."""
    if not result.lines:
        return None
    (west, south), (east, north) = result.lines[0].axis
    if abs(east - west) > 180:  # on both sides of the date line: either end will do
        east = west
    return (west + east) / 2, (south + north) / 2


def _cell(place: tuple[float, float], fleet: Fleet | None) -> Cell | None:
    for size in SIZES_DEG:
        west, south = (floor(at / size) * size for at in place)
        cell = Cell(south_deg=south, west_deg=west, size_deg=size)
        if fleet is None or _farms(fleet, cell) >= LEAST_FARMS:
            return cell
    return None


def _farms(fleet: Fleet, cell: Cell) -> int:
    """Farms that a fleet knows in a cell."""
    found = fleet.rows(
        "SELECT count(DISTINCT farm_key) AS farms FROM runs WHERE status = 'measured' "
        "AND farm_key <> '' AND latitude_deg >= $1 AND latitude_deg < $1 + $3 "
        "AND longitude_deg >= $2 AND longitude_deg < $2 + $3",
        cell.south_deg,
        cell.west_deg,
        cell.size_deg,
    )
    return int(found[0]["farms"])


def run_row_of(row: SharedRow) -> Row:
    """The row as a fleet keeps it, in the columns of runs; its key is the hash of what it says."""
    told = json.dumps(asdict(row), sort_keys=True).encode()
    in_use, rolled, cell = row.log_ratio_in_use, row.log_ratio_rolled, row.cell
    slip = None if rolled is None else 1 - exp(-rolled)
    given: dict[str, Any] = {
        "run_key": hashlib.sha256(told).hexdigest(),
        "status": SHARED,
        "version": row.version,
        "date": row.monday,
        "seeder": row.model,
        "tyre": row.tyre,
        "soil_moisture": row.moisture or "",
        "soil_texture": row.texture or "",
        "change": None if in_use is None else expm1(in_use),
        "change_std": None if in_use is None else row.u * exp(in_use),
        "slip": slip,
        "slip_std": None if slip is None else row.u * (1 - slip),
        "passes": row.passes,
        "latitude_deg": None if cell is None else cell.south_deg + cell.size_deg / 2,
        "longitude_deg": None if cell is None else cell.west_deg + cell.size_deg / 2,
    }
    return empty_row() | given
