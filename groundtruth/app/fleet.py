"""Questions to a fleet of many runs, for every front end."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from ..core.errors import InputError
from ..core.fleet_prior import FleetPrior
from ..fleet.cells import cell_layer
from ..fleet.data_set import open_fleet
from ..fleet.phones import PhoneStanding, phone_standings
from ..fleet.prior import fleet_prior
from ..fleet.seeders import SeederHistory, SeederStandings, seeder_history, seeders_off
from ..fleet.slip import SlipAnswer, slip_answer
from ..fleet.versions import VersionChange, version_change

LEAST_CELL_DEG, MOST_CELL_DEG = 0.05, 20.0
"""Sides of a cell; smaller ones would be near to showing farms."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SeedersRequest:
    """Which seeders of the ``fleet`` are off by more than ``tolerance`` (a share)."""

    fleet: Path
    tolerance: float = 0.03


@dataclass(frozen=True, slots=True, kw_only=True)
class HistoryRequest:
    """The runs of one seeder, by its name, its id, or "farm/name"."""

    fleet: Path
    seeder: str


@dataclass(frozen=True, slots=True, kw_only=True)
class VersionsRequest:
    """The same runs in two data sets."""

    before: Path
    now: Path


@dataclass(frozen=True, slots=True, kw_only=True)
class CellsRequest:
    """A layer of cells of ``size_deg``."""

    fleet: Path
    size_deg: float = 0.5


def seeders_for(request: SeedersRequest) -> SeederStandings:
    """Which seeders are off.

    Raises
    ------
    InputError : the tolerance is none, or the folder holds no fleet that can tell.
    """
    if not 0 < request.tolerance < 0.5:
        raise InputError(f"a tolerance of {100 * request.tolerance:g} % is none; up to 50 %")
    with open_fleet(request.fleet) as fleet:
        return seeders_off(fleet, tolerance=request.tolerance)


def history_for(request: HistoryRequest) -> SeederHistory:
    """One seeder over time.

    Raises
    ------
    InputError : the folder holds no fleet, or none or several seeders are called so.
    """
    with open_fleet(request.fleet) as fleet:
        return seeder_history(fleet, request.seeder)


def slip_for(folder: Path) -> SlipAnswer:
    """How slip goes with soil, tyre, pressure, ballast and speed.

    Raises
    ------
    InputError : the folder holds no fleet, or too few runs with slip.
    """
    with open_fleet(folder) as fleet:
        return slip_answer(fleet)


def phones_for(folder: Path) -> tuple[PhoneStanding, ...]:
    """Which phones fall short.

    Raises
    ------
    InputError : the folder holds no fleet, or no pass of a phone.
    """
    with open_fleet(folder) as fleet:
        return phone_standings(fleet)


def versions_for(request: VersionsRequest) -> VersionChange:
    """What another version changed.

    Raises
    ------
    InputError : a folder holds no fleet, or no run stands in both.
    """
    with open_fleet(request.before) as before, open_fleet(request.now) as now:
        return version_change(before, now)


def cells_for(request: CellsRequest) -> bytes:
    """A GeoPackage of coarse cells.

    Raises
    ------
    InputError : the size is none, the folder holds no fleet, or no cell has farms enough.
    """
    if not LEAST_CELL_DEG <= request.size_deg <= MOST_CELL_DEG:
        raise InputError(
            f"cells of {request.size_deg:g}° are not drawn; {LEAST_CELL_DEG:g}° to "
            f"{MOST_CELL_DEG:g}°"
        )
    with open_fleet(request.fleet) as fleet:
        return cell_layer(fleet, size_deg=request.size_deg)


def prior_for(folder: Path) -> FleetPrior:
    """What the fleet teaches the next run.

    Raises
    ------
    InputError : the folder holds no fleet, or one too small to teach anything.
    """
    with open_fleet(folder) as fleet:
        return fleet_prior(fleet)
