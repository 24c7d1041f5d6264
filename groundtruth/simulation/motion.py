"""Where the tractor truly is: the line over the ground and the way it is driven along in time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .noise import gauss_markov
from .route import Route
from .scenario import Scenario, draw

Array = NDArray[np.float64]

GRID_S = 0.1
"""Step of the true path in time."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnMotion:
    """The figures that the day drew for its motion."""

    speed_m_s: float
    speed_variation: float
    speed_variation_time_s: float
    acceleration_m_s2: float
    weave_m: float
    weave_length_m: float
    slope: float
    elevation_m: float
    rolling: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TruePath:
    """Where the tractor was every 0.1 s. ``ground_m`` is the length covered, slope included."""

    time_s: Array
    east_m: Array
    north_m: Array
    height_m: Array
    ground_m: Array
    speed_m_s: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class TruePass:
    """The truth about one pass.

    The seeder covers ``ground_m`` in work between ``start_s`` (moved off, or dropped on the move)
    and ``end_s`` (came to stand, or lifted). ``stood_start`` and ``stood_end`` are the standing
    before and after, None where the tractor rolled on. ``mid_stops`` are stops on the way.
    """

    number: int
    start_s: float
    end_s: float
    ground_m: float
    axis_deg: float
    stood_start: tuple[float, float] | None
    stood_end: tuple[float, float] | None
    mid_stops: tuple[tuple[float, float], ...]


def drive_day(
    scenario: Scenario, rng: np.random.Generator
) -> tuple[DrawnMotion, TruePath, tuple[TruePass, ...]]:
    """Draw a day's figures and drive it: to the field, bed after bed, and home."""
    motion, field = scenario.motion, scenario.field
    drawn = DrawnMotion(
        speed_m_s=draw(rng, motion.speed_m_s),
        speed_variation=draw(rng, motion.speed_variation),
        speed_variation_time_s=draw(rng, motion.speed_variation_time_s),
        acceleration_m_s2=draw(rng, motion.acceleration_m_s2),
        weave_m=draw(rng, motion.weave_m),
        weave_length_m=draw(rng, motion.weave_length_m),
        slope=draw(rng, motion.slope),
        elevation_m=draw(rng, motion.elevation_m),
        rolling=bool(rng.random() < motion.rolling_share),
    )
    route = Route(rng.uniform(0, 2 * np.pi), drawn.acceleration_m_s2)
    drive_speed = draw(rng, field.drive_speed_m_s)
    beds: list[tuple[int, int, float, bool]] = []  # first and last leg, heading, stands at start
    if field.drive_m is not None:
        route.leg(0.01, 0.1, draw(rng, (5, 40)))
        _drive(route, rng, draw(rng, field.drive_m), drive_speed)
    field_heading = None
    for number in range(field.fields):
        if number:
            _drive(route, rng, draw(rng, field.drive_m or (200, 1200)), drive_speed)
        field_heading = float(route.pose[2]) if field_heading is None else field_heading
        beds += _sow_field(route, rng, scenario, drawn)
    if field.drive_m is not None:
        _drive(route, rng, draw(rng, field.drive_m), drive_speed)
        route.leg(0.01, 0.1, draw(rng, (5, 40)))
    return _carry_out(route, rng, drawn, beds, field_heading or 0.0)


def _drive(route: Route, rng: np.random.Generator, length_m: float, speed: float) -> None:
    """A road of straights and bends, then a slow bit onto the headland."""
    driven = 0.0
    while driven < length_m:
        driven += (a := route.straight(rng.uniform(30, 300)))
        route.leg(a, speed * rng.uniform(0.8, 1.2))
        bend = rng.uniform(np.radians(25), np.radians(100)) * rng.choice([-1, 1])
        driven += (b := route.arc(bend, rng.uniform(6, 14)))
        stands = rng.uniform(3, 20) if rng.random() < 0.1 else -1.0
        route.leg(b, min(speed, 2.5), stands)


def _sow_field(
    route: Route, rng: np.random.Generator, scenario: Scenario, drawn: DrawnMotion
) -> list[tuple[int, int, float, bool]]:
    """Bed after bed, to and fro, with headland turns."""
    motion, field = scenario.motion, scenario.field
    speed, stands = drawn.speed_m_s, not drawn.rolling
    bed_m = draw(rng, field.bed_length_m)
    width_m = draw(rng, field.bed_width_m) * rng.choice([1, 1, 2, 3])
    radius_m = draw(rng, field.turn_radius_m)
    kind = str(rng.choice(["loop", "back up"]))
    headland = rng.uniform(0.6, 1.0)
    side = int(rng.choice([-1, 1]))
    count = int(rng.integers(field.passes[0], field.passes[1] + 1))
    if field.lengths_m:
        count, width_m = len(field.lengths_m), draw(rng, field.bed_width_m)
    pauses = rng.integers(field.pauses[0], field.pauses[1] + 1)
    pause_after = set(rng.choice(count, size=min(int(pauses), count), replace=False).tolist())
    sagitta_m = draw(rng, motion.sagitta_m)
    beds = []
    for k in range(count):
        run_in, run_out = draw(rng, field.run_in_m), draw(rng, field.run_in_m)
        length = bed_m + rng.uniform(-1.5, 1.5)
        if field.lengths_m:
            length = field.lengths_m[k] + rng.uniform(-0.8, 0.8)
        heading = float(route.pose[2])
        lengths = _bed_line(route, rng, drawn, (run_in, length, run_out), sagitta_m)
        sagitta_m = -sagitta_m  # the same bow seen from the other end
        route.leg(lengths[0], speed * headland, draw(rng, motion.end_stop_s) if stands else -1.0)
        first = route.legs
        if rng.random() < motion.mid_stop_share:
            part = rng.uniform(0.2, 0.8)
            route.leg(lengths[1] * part, speed, draw(rng, motion.mid_stop_s))
            lengths[1] *= 1 - part
        last = route.leg(lengths[1], speed, draw(rng, motion.end_stop_s) if stands else -1.0)
        beds.append((first, last, heading, stands))
        route.leg(lengths[2], speed * headland)
        if k + 1 < count:
            turn = side if k % 2 == 0 else -side
            pause = draw(rng, field.pause_s) if k in pause_after else -1.0
            shift_m = width_m * (field.steps[k] if field.steps else 1)
            _headland(route, kind, turn, shift_m, radius_m, speed * headland, pause)
    return beds


def _bed_line(
    route: Route,
    rng: np.random.Generator,
    drawn: DrawnMotion,
    lengths_m: tuple[float, float, float],
    sagitta_m: float,
) -> list[float]:
    """Run-in, bed and run-out as one weaving, gently bowed line; returns their three lengths."""
    total = sum(lengths_m)
    waves = drawn.weave_length_m * rng.uniform(0.7, 1.4, size=3)
    phases = rng.uniform(0, 2 * np.pi, size=3)
    added, x0 = [], 0.0
    pose = route.pose.copy()
    for length in lengths_m:
        x = np.linspace(x0, x0 + length, max(2, int(length / 0.5)) + 1)[1:]
        weave = np.sin(2 * np.pi * x[:, None] / waves + phases).sum(axis=1) / np.sqrt(3)
        y = drawn.weave_m * weave + 4 * sagitta_m * (x / total) * (1 - x / total)
        route.pose = pose.copy()
        x0 += length
        added.append(route.append(np.column_stack([x, y]), (x0, 0.0, 0.0)))
    return added


def _headland(
    route: Route,
    kind: str,
    side: int,
    shift_m: float,
    radius_m: float,
    speed: float,
    pause_s: float,
) -> None:
    """Turn round to the next bed, ``shift_m`` to the left (side 1) or right (−1)."""
    quarter = side * np.pi / 2
    if shift_m >= 2 * radius_m:
        length = route.arc(quarter, radius_m)
        length += route.straight(shift_m - 2 * radius_m)
        route.leg(length, speed, pause_s)
        route.leg(route.arc(quarter, radius_m), speed)
    elif kind == "loop":  # out, round and back in: three arcs that touch
        out = float(np.arccos((shift_m + 2 * radius_m) / (4 * radius_m)))
        length = route.arc(-side * out, radius_m)
        length += route.arc(side * (np.pi + 2 * out), radius_m)
        route.leg(length, speed, pause_s)
        route.leg(route.arc(-side * out, radius_m), speed)
    else:
        route.leg(route.arc(quarter, radius_m), speed, max(pause_s, 1.0))
        route.leg(route.straight(shift_m - 2 * radius_m), speed * 0.7, 1.0)
        route.leg(route.arc(quarter, radius_m), speed)


def _carry_out(
    route: Route,
    rng: np.random.Generator,
    drawn: DrawnMotion,
    beds: list[tuple[int, int, float, bool]],
    field_heading: float,
) -> tuple[DrawnMotion, TruePath, tuple[TruePass, ...]]:
    """The path in time that a route with these beds gives.

    The clock of the speed profile runs fast or slow with the variation of the speed, so every leg
    keeps its place on the ground.
    """
    duration, v0, v1, first, after = route.speed_profile()
    begins = np.concatenate([[0.0], np.cumsum(duration)])
    reached = np.concatenate([[0.0], np.cumsum((v0 + v1) / 2 * duration)])
    clock = np.arange(0.0, begins[-1] + GRID_S, GRID_S)
    variation = gauss_markov(
        rng, (len(clock),), GRID_S, drawn.speed_variation, drawn.speed_variation_time_s
    )
    pace = 1 / np.maximum(1 + variation, 0.2)
    time = np.concatenate([[0.0], np.cumsum((pace[1:] + pace[:-1]) / 2 * GRID_S)])
    grid = np.arange(0.0, time[-1], GRID_S)
    program = np.minimum(np.interp(grid, time, clock), begins[-1])
    k = np.clip(np.searchsorted(begins, program, side="right") - 1, 0, len(duration) - 1)
    dt = program - begins[k]
    along = reached[k] + v0[k] * dt + (v1[k] - v0[k]) / duration[k] * dt * dt / 2
    speed = (v0[k] + (v1[k] - v0[k]) / duration[k] * dt) / np.interp(grid, time, pace)

    line = route.line()
    rise = line @ np.array([np.cos(field_heading), np.sin(field_heading)]) * drawn.slope
    step = np.diff(line, axis=0)
    place = np.concatenate([[0.0], np.cumsum(np.hypot(step[:, 0], step[:, 1]))])
    ground = np.concatenate(
        [[0.0], np.cumsum(np.sqrt(step[:, 0] ** 2 + step[:, 1] ** 2 + np.diff(rise) ** 2))]
    )
    path = TruePath(
        time_s=grid,
        east_m=np.interp(along, place, line[:, 0]),
        north_m=np.interp(along, place, line[:, 1]),
        height_m=drawn.elevation_m + np.interp(along, place, rise),
        ground_m=np.interp(along, place, ground),
        speed_m_s=speed,
    )
    instants = np.interp(begins, clock, time)
    passes = []
    for number, (one, two, heading, stands) in enumerate(beds, start=1):
        start, end = first[one], after[two]
        covered = np.interp(reached[[start, end]], place, ground)
        passes.append(
            TruePass(
                number=number,
                start_s=float(instants[start]),
                end_s=float(instants[end]),
                ground_m=float(covered[1] - covered[0]),
                axis_deg=float(np.degrees(np.pi / 2 - heading) % 360),
                stood_start=_span(instants, start - 1) if stands else None,
                stood_end=_span(instants, end) if stands else None,
                mid_stops=tuple(_span(instants, after[j]) for j in range(one, two)),
            )
        )
    return drawn, path, tuple(passes)


def _span(instants: Array, phase: int) -> tuple[float, float]:
    """When a phase began and ended."""
    return float(instants[phase]), float(instants[phase + 1])
