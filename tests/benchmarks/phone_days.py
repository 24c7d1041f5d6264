"""Sowing days on the errors of real phones, laid over the driving of our simulator."""

from __future__ import annotations

import zlib
from dataclasses import dataclass, replace

import numpy as np

from groundtruth.core.plane import height_factor
from groundtruth.core.track import Track
from groundtruth.simulation import (
    FieldLayout,
    Motion,
    Phone,
    Scenario,
    SimulatedDay,
    Wheels,
    simulate_day,
)

from .cases import Case, cases_on
from .error_series import Errors, Series, as_recorded, by_regime

MOST_PASSES = 8
ROUNDED_DEG = 1e-7
"""Coordinates are written to so many degrees."""
USUAL = Motion(slope=(0.0, 0.0), elevation_m=(0, 0))
"""The simulator's usual driving, on flat ground."""
UNEVEN = replace(
    USUAL,
    speed_m_s=(0.4, 2.2),
    speed_variation=(0.005, 0.10),
    acceleration_m_s2=(0.1, 0.8),
    end_stop_s=(3, 30),
)
"""Steady to half a percent or uneven to ten, ramps of 1 to 15 s."""
_SILENT = Phone(
    slow_m=(0, 0),
    fast_m=(0, 0),
    white_m=(0, 0),
    corrections_per_minute=(0, 0),
    late_share=(0, 0),
    frozen_share=(0, 0),
    coordinate_steps_deg=(1e-9,),
    height_m=(0, 0),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """How a day is driven and written down."""

    rolling: bool
    instants: bool
    regime: bool

    @property
    def name(self) -> str:
        """Its line in the tables."""
        ends = "rolling" if self.rolling else "stopped"
        return f"{ends}, {'instants' if self.instants else 'order only'}"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PhoneDay:
    """A day with a real phone's track, and its passes with the truth for given ends."""

    series: Series
    kind: Kind
    day: SimulatedDay
    cases: list[Case]


def phone_day(series: Series, kind: Kind, number: int, motion: Motion = USUAL) -> PhoneDay | None:
    """Day ``number`` of a piece, always the same; None where the piece is too short for a pass."""
    seed = zlib.crc32(f"{series.name} {kind.name} {kind.regime} {number}".encode())
    for passes in range(MOST_PASSES, 0, -1):
        day = _driven(kind, motion, passes, seed)
        duration_s = float(day.path.time_s[-1] - day.path.time_s[0])
        if duration_s <= series.duration_s:
            break
    else:
        return None
    if kind.regime:
        begin = float(day.path.time_s[0])
        errors = by_regime(series, [(a - begin, b - begin) for a, b in _stands(day)], duration_s)
    else:
        errors = as_recorded(series, duration_s, np.random.default_rng(seed).random())
    day = replace(day, track=_recorded(day, errors, series.name))
    cases = cases_on(day)
    return PhoneDay(series=series, kind=kind, day=day, cases=cases)


def _driven(kind: Kind, motion: Motion, passes: int, seed: int) -> SimulatedDay:
    scenario = Scenario(
        name="real phone",
        about="errors of a real phone",
        motion=replace(motion, rolling_share=float(kind.rolling)),
        field=FieldLayout(
            passes=(passes, passes), bed_length_m=(40, 120), drive_m=(20, 80), pauses=(0, 0)
        ),
        phone=_SILENT,
        wheels=Wheels(instants=kind.instants),
    )
    return simulate_day(scenario, seed)


def _stands(day: SimulatedDay) -> list[tuple[float, float]]:
    """All standing of the path, also on the headlands."""
    still = np.concatenate([[False], day.path.speed_m_s < 1e-3, [False]])
    change = np.flatnonzero(still[1:] != still[:-1])
    last = len(day.path.time_s) - 1
    return [
        (float(day.path.time_s[a]), float(day.path.time_s[min(b, last)]))
        for a, b in zip(change[::2].tolist(), change[1::2].tolist(), strict=True)
    ]


def _recorded(day: SimulatedDay, errors: Errors, name: str) -> Track:
    """The track: where the tractor was, a second before where the phone was late, and the error."""
    path, plane = day.path, day.plane
    time_s = path.time_s[0] + errors.time_s
    taken = np.maximum(time_s - errors.stale, path.time_s[0])
    factor = height_factor(float(path.height_m[0]), plane.latitude_deg)
    east = np.interp(taken, path.time_s, path.east_m) + errors.east_m
    north = np.interp(taken, path.time_s, path.north_m) + errors.north_m
    longitude, latitude = plane.to_degrees(east / factor, north / factor)
    return Track(
        time_s=time_s,
        longitude_deg=np.round(longitude / ROUNDED_DEG) * ROUNDED_DEG,
        latitude_deg=np.round(latitude / ROUNDED_DEG) * ROUNDED_DEG,
        height_m=np.interp(taken, path.time_s, path.height_m) + errors.height_m,
        name=name,
    )
