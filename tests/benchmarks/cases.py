"""Simulated passes made ready for the methods that are compared (truth: our simulator).

Every method is given the same: the fixes of a pass cut out by the truth, the two marks between
which the ground is asked, and when the tractor stood. Where the seeder was dropped or lifted on
the move, only fixes between the marks are handed over, since the model takes the driving beyond
them for a continuation of the pass. Where every turn was timed, the first and the last turn within
the pass are the marks, and ours is given the turns. Passes with hardly a fix are left out.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from unittest import mock

import numpy as np
from numpy.typing import NDArray

from groundtruth.estimator.pass_coordinates import LEAST_FIXES
from groundtruth.simulation import (
    SCENARIOS,
    Scenario,
    SimulatedDay,
    SimulatedPass,
    passes_of,
    simulate_day,
)
from groundtruth.simulation import phone as simulated_phone

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Case:
    """One pass. Arrays of shape (n,); known to the bound only are ``shifted`` (fixes that jumped or
    came late), ``repeated`` and ``corrected_m`` (2, n), by how much the phone moved its solution.

    ``wheel`` holds instants and cumulative turns where every turn was timed.
    """

    time_s: Array
    east_m: Array
    north_m: Array
    height_m: Array
    speed_m_s: Array
    longitude_deg: Array
    latitude_deg: Array
    shifted: NDArray[np.bool_]
    repeated: NDArray[np.bool_]
    corrected_m: Array
    start_s: float
    end_s: float
    stops: tuple[tuple[float, float], ...]
    ground_m: float
    simulated: SimulatedPass
    wheel: tuple[Array, Array] | None = None

    @property
    def between(self) -> NDArray[np.bool_]:
        """Fixes between the marks."""
        return (self.time_s >= self.start_s) & (self.time_s <= self.end_s)


def cases_of(name: str, seed: int, *, passes: int | None = None) -> tuple[SimulatedDay, list[Case]]:
    """The passes of one day of a scenario, ``passes`` of them where the scenario has several."""
    scenario = SCENARIOS[name]
    field = scenario.field
    if passes is not None and field.passes != (1, 1):
        each = max(1, passes // field.fields)
        scenario = replace(scenario, field=replace(field, passes=(each, each)))
    return cases_in(scenario, seed)


def cases_in(scenario: Scenario, seed: int) -> tuple[SimulatedDay, list[Case]]:
    """The passes of one day of any scenario."""
    day, shifted, corrected_m = _with_shifts(scenario, seed)
    return day, cases_on(day, shifted, corrected_m)


def cases_on(
    day: SimulatedDay,
    shifted: NDArray[np.bool_] | None = None,
    corrected_m: Array | None = None,
) -> list[Case]:
    """The passes of a day whose track is there; ``shifted`` (fixes,) and ``corrected_m``
    (2, fixes) are known to the bound only."""
    track = day.track
    if shifted is None:
        shifted = np.zeros(len(track.time_s), dtype=bool)
    if corrected_m is None:
        corrected_m = np.zeros((2, len(track.time_s)))
    repeated = np.zeros(len(track.time_s), dtype=bool)
    repeated[1:] = (np.diff(track.longitude_deg) == 0) & (np.diff(track.latitude_deg) == 0)
    found = []
    for p in passes_of(day):
        low, high = p.mark_s
        stops = list(p.truth.mid_stops)
        if p.truth.stood_start:
            stops.insert(0, p.truth.stood_start)
            low = -np.inf
        if p.truth.stood_end:
            stops.append(p.truth.stood_end)
            high = np.inf
        keep = (p.time_s >= low) & (p.time_s <= high)
        where = np.searchsorted(track.time_s, p.time_s)[keep]
        if keep.sum() - repeated[where].sum() < LEAST_FIXES + 1:
            continue  # refused by ours
        marks, ground_m, wheel = _marks(day, p)
        found.append(
            Case(
                time_s=p.time_s[keep],
                east_m=p.east_m[keep],
                north_m=p.north_m[keep],
                height_m=p.height_m[keep],
                speed_m_s=p.speed_m_s[keep],
                longitude_deg=track.longitude_deg[where],
                latitude_deg=track.latitude_deg[where],
                shifted=shifted[where],
                repeated=repeated[where],
                corrected_m=corrected_m[:, where],
                start_s=marks[0],
                end_s=marks[1],
                stops=tuple(stops),
                ground_m=ground_m,
                simulated=p,
                wheel=wheel,
            )
        )
    return found


def _marks(
    day: SimulatedDay, p: SimulatedPass
) -> tuple[tuple[float, float], float, tuple[Array, Array] | None]:
    """The marks of a pass, the ground between them, and timed turns if there are any."""
    readings = day.sheet.readings
    if not readings or not readings[0].at_each_turn:
        return p.mark_s, p.ground_m, None
    time, turns = readings[0].time_s, readings[0].turns
    within = (time >= p.mark_s[0]) & (time <= p.mark_s[1])
    marks = float(time[within][0]), float(time[within][-1])
    reached = np.interp(marks, day.path.time_s, day.path.ground_m)
    return marks, float(reached[1] - reached[0]), (time[within], turns[within])


def _with_shifts(scenario: Scenario, seed: int) -> tuple[SimulatedDay, NDArray[np.bool_], Array]:
    """A day, which of its fixes were shifted or late, and the phone's corrections at each: what the
    simulator keeps quiet."""
    seen = {}
    shift, late, correct = (getattr(simulated_phone, f"_{n}") for n in ("jump", "late", "correct"))

    def shifting(east, north, time_s, *rest):
        before = east.copy(), north.copy()
        shift(east, north, time_s, *rest)
        seen["time"] = time_s
        seen["moved"] = (east != before[0]) | (north != before[1])

    def coming_late(*given):
        seen["late"] = late(*given)
        return seen["late"]

    def correcting(time_s, *rest):
        seen["corrections"] = time_s, correct(time_s, *rest)
        return seen["corrections"][1]

    with mock.patch.multiple(
        simulated_phone, _jump=shifting, _late=coming_late, _correct=correcting
    ):
        day = simulate_day(scenario, seed)
    period = day.phone.period_s
    # stamps are whole periods; fixes within the second belong to the stamp before them
    number = np.floor(seen["time"] / period + 1e-6).astype(int)
    since = day.track.time_s - day.path.time_s[0]
    kept = np.searchsorted(number, np.round(since / period).astype(int))
    at, corrections = seen["corrections"]
    corrected_m = np.stack([np.interp(seen["time"][kept], at, c) for c in corrections])
    return day, (seen["moved"] | (seen["late"] > 0))[kept], corrected_m
