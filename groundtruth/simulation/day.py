"""Put a day together, or one pass of it for tests of the estimator."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..core.plane import Plane
from ..core.seeder import Seeder
from ..core.track import Track
from ..core.turns import TurnSheet
from .motion import DrawnMotion, TruePass, TruePath, drive_day
from .phone import DrawnPhone, draw_phone, record
from .scenario import Scenario
from .wheel import TrueUnit, turn_wheels, write_down

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SimulatedDay:
    """A recorded day with its truth.

    All instants in ``track``, ``sheet``, ``passes`` and ``path`` are s since 1970 UTC.
    ``ground_per_turn_m`` is the ground of all passes and units over all their turns, as it came
    about; ``expected_ground_per_turn_m`` what endlessly many such passes would give; slips alike.
    ``plane`` is the frame of ``path`` (its metres are ground at the field's height).
    """

    scenario: Scenario
    seed: int
    track: Track
    sheet: TurnSheet
    seeder: Seeder
    passes: tuple[TruePass, ...]
    units: tuple[TrueUnit, ...]
    ground_per_turn_m: float
    expected_ground_per_turn_m: float
    slip: float
    expected_slip: float
    path: TruePath
    plane: Plane
    motion: DrawnMotion
    phone: DrawnPhone


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SimulatedPass:
    """One pass in metres, for tests of the estimator.

    The fixes lie between ``fixes_from`` and the end of the standing after the pass (10 s before
    and after where the seeder was dropped or lifted on the move). ``mark_s`` are the two instants
    between which the ground is asked, ``ground_m`` the true answer; ``truth`` the whole pass.
    Metres are ground at the field's height, measured from the plane's origin.
    """

    time_s: Array
    east_m: Array
    north_m: Array
    height_m: Array
    speed_m_s: Array
    mark_s: tuple[float, float]
    ground_m: float
    truth: TruePass
    motion: DrawnMotion
    phone: DrawnPhone
    day: SimulatedDay


def simulate_day(
    scenario: Scenario, seed: int, *, plane: Plane | None = None, begin_s: float | None = None
) -> SimulatedDay:
    """A whole day: drive to the field, bed after bed, home; the same for the same seed.

    Place, motion, phone and wheels have random streams of their own, so that two scenarios that
    differ in the phone only are driven alike. Place (``plane``, its origin is where the drive
    begins) and beginning (``begin_s``, a whole second since 1970 UTC) are drawn where not given;
    drawn places lie in the open sea, so that they are nobody's.
    """
    streams = np.random.SeedSequence(seed).spawn(4)
    place, moving, phoning, wheeling = (np.random.default_rng(s) for s in streams)
    drawn_plane = Plane(
        longitude_deg=float(place.uniform(-48, -34)), latitude_deg=float(place.uniform(30, 58))
    )
    drawn_begin = float(_FIRST_DAY_S + place.integers(0, 60) * 86400 + place.integers(0, 14400))
    plane = plane or drawn_plane
    begin_s = drawn_begin if begin_s is None else begin_s
    motion, path, passes = drive_day(scenario, moving)
    phone = draw_phone(scenario.phone, phoning)
    between = (0.0, float(path.time_s[-1]))
    if scenario.field.drive_m is None:
        # the recorder is switched on and off a little outside the passes
        slack = phoning.uniform(0, 8, size=2) if motion.rolling else np.zeros(2)
        first, last = passes[0], passes[-1]
        between = (
            max((first.stood_start or (first.start_s - slack[0],))[0], 0.0),
            min((last.stood_end or (0, last.end_s + slack[1]))[1], between[1]),
        )
    name = f"{scenario.name}, seed {seed}"
    track = record(path, scenario.phone, phone, plane, begin_s, name, phoning, between)
    seeder, units, turnings = turn_wheels(scenario.wheels, passes, wheeling)
    sheet = write_down(scenario.wheels, path, passes, units, turnings, begin_s, wheeling)
    ground = sum(p.ground_m for p in passes) * len(units)
    per_turn = ground / sum(sum(unit.turns) for unit in units)
    expected = len(units) / sum(1 / unit.expected_ground_per_turn_m for unit in units)
    return SimulatedDay(
        scenario=scenario,
        seed=seed,
        track=track,
        sheet=sheet,
        seeder=seeder,
        passes=tuple(_shift(p, begin_s) for p in passes),
        units=units,
        ground_per_turn_m=per_turn,
        expected_ground_per_turn_m=expected,
        slip=1 - units[0].zero_slip_m / per_turn,
        expected_slip=1 - units[0].zero_slip_m / expected,
        path=replace(path, time_s=path.time_s + begin_s),
        plane=plane,
        motion=motion,
        phone=phone,
    )


_FIRST_DAY_S = 1_806_904_800
"""2027-04-05 06:00 UTC; simulated mornings lie within two months after it."""


def _shift(p: TruePass, by_s: float) -> TruePass:
    """The pass on a clock that is ``by_s`` ahead."""

    def moved(stood: tuple[float, float]) -> tuple[float, float]:
        return stood[0] + by_s, stood[1] + by_s

    return replace(
        p,
        start_s=p.start_s + by_s,
        end_s=p.end_s + by_s,
        stood_start=p.stood_start and moved(p.stood_start),
        stood_end=p.stood_end and moved(p.stood_end),
        mid_stops=tuple(moved(stop) for stop in p.mid_stops),
    )


def passes_of(day: SimulatedDay, *, around_s: float = 10.0) -> tuple[SimulatedPass, ...]:
    """Each pass of a day in metres, cut out by the truth: what a perfect pass finder would give.

    The marks are the true start and end.
    """
    from ..core.plane import height_factor

    track = day.track
    factor = height_factor(float(day.path.height_m[0]), day.plane.latitude_deg)
    east, north = day.plane.to_metres(track.longitude_deg, track.latitude_deg)
    found = []
    for p in day.passes:
        begin = p.stood_start[0] if p.stood_start else p.start_s - around_s
        end = p.stood_end[1] if p.stood_end else p.end_s + around_s
        cut = slice(*np.searchsorted(track.time_s, [begin, end]).tolist())
        found.append(
            SimulatedPass(
                time_s=track.time_s[cut],
                east_m=east[cut] * factor,
                north_m=north[cut] * factor,
                height_m=track.height_m[cut],
                speed_m_s=track.speed_m_s[cut],
                mark_s=(p.start_s, p.end_s),
                ground_m=p.ground_m,
                truth=p,
                motion=day.motion,
                phone=day.phone,
                day=day,
            )
        )
    return tuple(found)


def simulate_pass(scenario: Scenario, seed: int) -> SimulatedPass:
    """One pass alone, without the drive to and from the field."""
    alone = replace(scenario.field, fields=1, passes=(1, 1), drive_m=None)
    return passes_of(simulate_day(replace(scenario, field=alone), seed))[0]
