"""Simulated days for the benchmark of mistakes, and what can go wrong with their recording."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from groundtruth.core.plane import Plane, plane_about
from groundtruth.core.track import Track
from groundtruth.io.tracks.repairs.silences import with_silences_filled
from groundtruth.simulation import SCENARIOS, SimulatedDay, simulate_day
from groundtruth.simulation.motion import GRID_S, TruePass, TruePath
from groundtruth.simulation.phone import record

Array = NDArray[np.float64]

VARIANTS = (
    "",
    "on the move",
    "a unit lags",
    "counter read",
    "turns timed",
    "break",
    "jumps and gaps",
    "seldom",
    "often",
    "in line",
)
"""Kinds of day, all with the ordinary phone but for what the name says: the seeder is dropped and
lifted on the move; the last unit slips 3–8 % more; a running counter is read at both ends; every
turn has its instant; after one pass the tractor stands for 5 to 15 min; 1 to 2 position jumps a
minute and gaps; a fix every 8 to 10 s; ten fixes a second; the drive leads within 20° of the first
bed to its head, and the tractor stands there for 18 to 90 s."""

HURT = ("jumps and gaps", "seldom")
"""Those whose recording is at fault."""

WITHOUT_COUNTS = ("counter read", "turns timed")
"""Those whose sheet holds readings alone."""


@lru_cache(maxsize=16)
def simulated(seed: int, variant: str, passes: int = 10, units: int = 4) -> SimulatedDay:
    """The day of a seed. The same seed is the same field, machine and soil in every variant."""
    scenario = SCENARIOS["ordinary phone"]
    wheels, phone, motion = replace(scenario.wheels, units=units), scenario.phone, scenario.motion
    rng = np.random.default_rng([seed, 77])
    if variant == "on the move":
        motion = replace(motion, rolling_share=1.0)
    elif variant == "a unit lags":
        wheels = replace(wheels, lagging=(0.03, 0.08))
    elif variant == "counter read":
        wheels = replace(wheels, counts="running")
    elif variant == "turns timed":
        wheels = replace(wheels, counts="each turn")
    elif variant == "jumps and gaps":
        phone = replace(phone, jumps_per_minute=(1.0, 2.0), gaps_per_minute=(0.2, 0.6))
    elif variant == "seldom":
        phone = replace(phone, rate_hz=1 / int(rng.integers(8, 11)))
    elif variant == "often":
        phone = replace(phone, rate_hz=10.0)
    field = replace(scenario.field, passes=(passes, passes))
    scenario = replace(scenario, field=field, wheels=wheels, phone=phone, motion=motion)
    day = simulate_day(scenario, seed)
    if variant == "break":
        return _with_break(day, rng)
    return _driven_in_line(day, rng) if variant == "in line" else day


def _with_break(day: SimulatedDay, rng: np.random.Generator) -> SimulatedDay:
    """The day with 5 to 15 min of standing more after one of its passes but the last."""
    k, longer = int(rng.integers(len(day.passes) - 1)), float(rng.integers(300, 900))
    stood = day.passes[k].stood_end
    assert stood is not None
    return with_break(day, (stood[0] + stood[1]) / 2, longer, rng)


def with_break(
    day: SimulatedDay, at_s: float, lasts_s: float, rng: np.random.Generator
) -> SimulatedDay:
    """The day on which the tractor stood for longer at an instant, recorded anew."""
    at = int(np.searchsorted(day.path.time_s, at_s))
    still = np.full(int(lasts_s / GRID_S), at)
    order = np.concatenate([np.arange(at), still, np.arange(at, len(day.path.time_s))])
    path = _taken(day.path, order)

    def late(time_s: float) -> float:
        return time_s + lasts_s * (time_s > day.path.time_s[at])

    passes = tuple(_moved(p, late) for p in day.passes)
    counts = tuple(
        replace(c, start_s=late(c.start_s or 0.0), end_s=late(c.end_s or 0.0))
        for c in day.sheet.counts
    )
    day = replace(day, passes=passes, sheet=replace(day.sheet, counts=counts))
    return _recorded(day, path, rng)


def _driven_in_line(day: SimulatedDay, rng: np.random.Generator) -> SimulatedDay:
    """The day begun with a straight drive up to the head of the first bed, and a stand there."""
    first = day.passes[0]
    assert first.stood_start is not None
    at = int(np.searchsorted(day.path.time_s, first.stood_start[0]))
    stand_s, length, speed = rng.uniform(18, 90), rng.uniform(150, 400), rng.uniform(2.0, 5.0)
    towards = np.radians(first.axis_deg + rng.uniform(-20, 20))
    slowing = 0.4
    ramp_s = speed / slowing
    drive_s = (length - speed * ramp_s / 2) / speed + ramp_s
    clock = np.arange(0.0, drive_s + stand_s, GRID_S)
    left = np.where(
        clock < drive_s - ramp_s,
        length - speed * clock,
        slowing / 2 * np.maximum(drive_s - clock, 0.0) ** 2,
    )
    before = len(clock)
    old = day.path
    ground = np.concatenate([old.ground_m[at] - left, old.ground_m[at:]])
    path = TruePath(
        time_s=old.time_s[at] + GRID_S * (np.arange(before + len(old.time_s) - at) - before),
        east_m=np.concatenate([old.east_m[at] - left * np.sin(towards), old.east_m[at:]]),
        north_m=np.concatenate([old.north_m[at] - left * np.cos(towards), old.north_m[at:]]),
        height_m=np.concatenate([np.full(before, old.height_m[at]), old.height_m[at:]]),
        ground_m=ground,
        speed_m_s=np.concatenate([-np.gradient(left, GRID_S), old.speed_m_s[at:]]),
    )
    return _recorded(day, path, rng)


def _recorded(day: SimulatedDay, path: TruePath, rng: np.random.Generator) -> SimulatedDay:
    """The day with the track that its phone records along another path."""
    begin_s = float(np.floor(path.time_s[0]))
    own = replace(path, time_s=path.time_s - begin_s)
    between = (float(own.time_s[0]), float(own.time_s[-1]))
    phone = day.scenario.phone
    track = record(own, phone, day.phone, day.plane, begin_s, "made longer", rng, between)
    return replace(day, track=track, path=path)


def _taken(path: TruePath, order: NDArray[np.int64]) -> TruePath:
    """The path in another order of its points, on the same clock grown longer."""
    still = np.diff(order, prepend=-1) == 0
    return TruePath(
        time_s=path.time_s[0] + GRID_S * np.arange(len(order)),
        east_m=path.east_m[order],
        north_m=path.north_m[order],
        height_m=path.height_m[order],
        ground_m=path.ground_m[order],
        speed_m_s=np.where(still, 0.0, path.speed_m_s[order]),
    )


def _moved(p: TruePass, late: object) -> TruePass:
    assert callable(late)
    return replace(
        p,
        start_s=late(p.start_s),
        end_s=late(p.end_s),
        stood_start=p.stood_start and (late(p.stood_start[0]), late(p.stood_start[1])),
        stood_end=p.stood_end and (late(p.stood_end[0]), late(p.stood_end[1])),
    )


def waits_for(step_m: float) -> Callable[[Track, np.random.Generator], Track]:
    """A recorder that writes a fix only after so much movement."""
    return lambda track, rng: thinned(track, step_m)


def every(lapse_s: float) -> Callable[[Track, np.random.Generator], Track]:
    """A recorder that writes a fix after so many seconds."""

    def kept(track: Track, rng: np.random.Generator) -> Track:
        number = np.floor((track.time_s - track.time_s[0]) / lapse_s)
        return track.taken(np.diff(number, prepend=-1) > 0)

    return kept


def unevenly(track: Track, rng: np.random.Generator) -> Track:
    """The fixes of a recorder that writes one after 1 to 12 s, as it happens."""
    lapses = rng.uniform(1, 12, size=len(track))
    at = np.searchsorted(track.time_s, track.time_s[0] + np.cumsum(lapses))
    return track.taken(np.unique(np.concatenate([[0], at[at < len(track)]])))


RESTS_S, RESTS_M, WAKES_M = 15.0, 3.0, 6.0
"""A recorder that sleeps after so long within so much, until the place is so far away."""


def sleeps(track: Track, rng: np.random.Generator) -> Track:
    """The fixes of a recorder that stops writing where the phone rests, till it has moved off."""
    east, north = plane_about(track).to_metres(track.longitude_deg, track.latitude_deg)
    kept = np.ones(len(track), dtype=bool)
    since, asleep = 0, False
    for i in range(1, len(track)):
        away = np.hypot(east[i] - east[since], north[i] - north[since])
        if away > (WAKES_M if asleep else RESTS_M):
            since, asleep = i, False
        elif not asleep and track.time_s[i] - track.time_s[since] > RESTS_S:
            asleep = True
        kept[i] = not asleep
    return with_silences_filled(track.taken(kept))


def thinned(track: Track, step_m: float) -> Track:
    """The fixes that a recorder writes which waits for so much movement."""
    plane: Plane = plane_about(track)
    east, north = plane.to_metres(track.longitude_deg, track.latitude_deg)
    kept = np.zeros(len(track), dtype=bool)
    last = 0
    kept[0] = True
    for i in range(1, len(track)):
        if np.hypot(east[i] - east[last], north[i] - north[last]) >= step_m:
            kept[i], last = True, i
    return with_silences_filled(track.taken(kept))
