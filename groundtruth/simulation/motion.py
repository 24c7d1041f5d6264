"""Where the tractor truly is: the line over the ground and the way it is driven along in time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .noise import gauss_markov
from .scenario import Scenario, draw

Array = NDArray[np.float64]

GRID_S = 0.1
"""Step of the true path in time."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnMotion:
    """The figures that the day drew for its motion."""

    speed_m_s: float
    wander: float
    wander_time_s: float
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


class Drawing:
    """A line drawn by moving a pose about, and the program of speeds along it."""

    def __init__(self, heading_rad: float, acceleration_m_s2: float) -> None:
        self.pose = np.array([0.0, 0.0, heading_rad])
        self.acceleration = acceleration_m_s2
        self._points: list[Array] = [np.zeros((1, 2))]
        self._length = 0.0
        self._leg: list[tuple[float, float]] = []  # length, cruising speed
        self._stop: list[float] = []  # standing after the leg, s; negative: roll on

    def move(self, points: Array, end: tuple[float, float, float]) -> float:
        """Append points given in the frame of the pose; returns the length added. [m]"""
        x, y, heading = self.pose
        c, s = np.cos(heading), np.sin(heading)
        turn = np.array([[c, s], [-s, c]])
        world = points @ turn + (x, y)
        joined = np.vstack([self._points[-1][-1:], world])
        length = float(np.hypot(*np.diff(joined, axis=0).T).sum())
        self._points.append(world)
        self._length += length
        shift = np.array(end[:2]) @ turn
        self.pose = np.array([x + shift[0], y + shift[1], heading + end[2]])
        return length

    def straight(self, length_m: float) -> float:
        """Straight on; backwards if negative."""
        return self.move(np.array([[length_m, 0.0]]), (length_m, 0.0, 0.0))

    def arc(self, angle_rad: float, radius_m: float) -> float:
        """Forward along an arc, to the left for positive angles."""
        n = max(2, int(abs(angle_rad) * radius_m / 0.25))
        a = np.linspace(0, abs(angle_rad), n + 1)[1:]
        points = np.column_stack([np.sin(a), np.sign(angle_rad) * (1 - np.cos(a))]) * radius_m
        return self.move(points, (points[-1, 0], points[-1, 1], angle_rad))

    def leg(self, length_m: float, speed_m_s: float, stand_s: float = -1.0) -> int:
        """Program a leg, and how long to stand after it (negative: roll on); returns its index."""
        self._leg.append((length_m, speed_m_s))
        self._stop.append(stand_s)
        return len(self._leg) - 1

    def program(self) -> tuple[Array, Array, Array, Array, Array]:
        """Phases of even acceleration: duration, speed at start and end; then for each leg the
        index of its first phase and of the phase after its last moving one."""
        phases: list[tuple[float, float, float]] = []
        first, after = [], []
        v0 = 0.0
        for k, (length, cruise) in enumerate(self._leg):
            following = self._leg[k + 1][1] if k + 1 < len(self._leg) else 0.0
            v1 = 0.0 if self._stop[k] >= 0 else min(cruise, following)
            first.append(len(phases))
            phases += _trapezoid(length, v0, cruise, v1, self.acceleration)
            after.append(len(phases))
            if self._stop[k] > 0:
                phases.append((self._stop[k], 0.0, 0.0))
            v0 = v1
        table = np.array(phases)
        return table[:, 0], table[:, 1], table[:, 2], np.array(first), np.array(after)

    def line(self) -> Array:
        """All points of the line, shape (n, 2)."""
        return np.vstack(self._points)


def _trapezoid(
    length: float, v0: float, cruise: float, v1: float, a: float
) -> list[tuple[float, float, float]]:
    """Speed up to the cruising speed, keep it, slow down: (duration, from, to) phases."""
    peak = min(cruise, float(np.sqrt((2 * a * length + v0 * v0 + v1 * v1) / 2)))
    if peak <= max(v0, v1) + 1e-9 and abs(v0 * v0 - v1 * v1) > 2 * a * length - 1e-9:
        return [(2 * length / (v0 + v1), v0, v1)]  # too short for a gentle change
    up, down = (peak - v0) / a, (peak - v1) / a
    rest = length - (v0 + peak) / 2 * up - (peak + v1) / 2 * down
    phases = [(up, v0, peak), (max(rest, 0.0) / peak, peak, peak), (down, peak, v1)]
    return [p for p in phases if p[0] > 0]


def drive_day(
    scenario: Scenario, rng: np.random.Generator
) -> tuple[DrawnMotion, TruePath, tuple[TruePass, ...]]:
    """Draw a day's figures and drive it: to the field, bed after bed, and home."""
    motion, field = scenario.motion, scenario.field
    drawn = DrawnMotion(
        speed_m_s=draw(rng, motion.speed_m_s),
        wander=draw(rng, motion.wander),
        wander_time_s=draw(rng, motion.wander_time_s),
        acceleration_m_s2=draw(rng, motion.acceleration_m_s2),
        weave_m=draw(rng, motion.weave_m),
        weave_length_m=draw(rng, motion.weave_length_m),
        slope=draw(rng, motion.slope),
        elevation_m=draw(rng, motion.elevation_m),
        rolling=bool(rng.random() < motion.rolling_share),
    )
    drawing = Drawing(rng.uniform(0, 2 * np.pi), drawn.acceleration_m_s2)
    drive_speed = draw(rng, field.drive_speed_m_s)
    beds: list[tuple[int, int, float, bool]] = []  # first and last leg, heading, stands at start
    if field.drive_m is not None:
        drawing.leg(0.01, 0.1, draw(rng, (5, 40)))
        _drive(drawing, rng, draw(rng, field.drive_m), drive_speed)
    field_heading = None
    for number in range(field.fields):
        if number:
            _drive(drawing, rng, draw(rng, field.drive_m or (200, 1200)), drive_speed)
        field_heading = float(drawing.pose[2]) if field_heading is None else field_heading
        beds += _sow_field(drawing, rng, scenario, drawn)
    if field.drive_m is not None:
        _drive(drawing, rng, draw(rng, field.drive_m), drive_speed)
        drawing.leg(0.01, 0.1, draw(rng, (5, 40)))
    return _carry_out(drawing, rng, drawn, beds, field_heading or 0.0)


def _drive(drawing: Drawing, rng: np.random.Generator, length_m: float, speed: float) -> None:
    """A road of straights and bends, then a slow bit onto the headland."""
    driven = 0.0
    while driven < length_m:
        driven += (a := drawing.straight(rng.uniform(30, 300)))
        drawing.leg(a, speed * rng.uniform(0.8, 1.2))
        bend = rng.uniform(np.radians(25), np.radians(100)) * rng.choice([-1, 1])
        driven += (b := drawing.arc(bend, rng.uniform(6, 14)))
        stands = rng.uniform(3, 20) if rng.random() < 0.1 else -1.0
        drawing.leg(b, min(speed, 2.5), stands)


def _sow_field(
    drawing: Drawing, rng: np.random.Generator, scenario: Scenario, drawn: DrawnMotion
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
        heading = float(drawing.pose[2])
        lengths = _bed_line(drawing, rng, drawn, (run_in, length, run_out), sagitta_m)
        sagitta_m = -sagitta_m  # the same bow seen from the other end
        drawing.leg(lengths[0], speed * headland, draw(rng, motion.end_stop_s) if stands else -1.0)
        first = len(drawing._leg)
        if rng.random() < motion.mid_stop_share:
            part = rng.uniform(0.2, 0.8)
            drawing.leg(lengths[1] * part, speed, draw(rng, motion.mid_stop_s))
            lengths[1] *= 1 - part
        last = drawing.leg(lengths[1], speed, draw(rng, motion.end_stop_s) if stands else -1.0)
        beds.append((first, last, heading, stands))
        drawing.leg(lengths[2], speed * headland)
        if k + 1 < count:
            turn = side if k % 2 == 0 else -side
            pause = draw(rng, field.pause_s) if k in pause_after else -1.0
            shift_m = width_m * (field.steps[k] if field.steps else 1)
            _headland(drawing, kind, turn, shift_m, radius_m, speed * headland, pause)
    return beds


def _bed_line(
    drawing: Drawing,
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
    pose = drawing.pose.copy()
    for length in lengths_m:
        x = np.linspace(x0, x0 + length, max(2, int(length / 0.5)) + 1)[1:]
        weave = np.sin(2 * np.pi * x[:, None] / waves + phases).sum(axis=1) / np.sqrt(3)
        y = drawn.weave_m * weave + 4 * sagitta_m * (x / total) * (1 - x / total)
        drawing.pose = pose.copy()
        x0 += length
        added.append(drawing.move(np.column_stack([x, y]), (x0, 0.0, 0.0)))
    return added


def _headland(
    drawing: Drawing,
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
        length = drawing.arc(quarter, radius_m)
        length += drawing.straight(shift_m - 2 * radius_m)
        drawing.leg(length, speed, pause_s)
        drawing.leg(drawing.arc(quarter, radius_m), speed)
    elif kind == "loop":  # out, round and back in: three arcs that touch
        out = float(np.arccos((shift_m + 2 * radius_m) / (4 * radius_m)))
        length = drawing.arc(-side * out, radius_m)
        length += drawing.arc(side * (np.pi + 2 * out), radius_m)
        drawing.leg(length, speed, pause_s)
        drawing.leg(drawing.arc(-side * out, radius_m), speed)
    else:
        drawing.leg(drawing.arc(quarter, radius_m), speed, max(pause_s, 1.0))
        drawing.leg(drawing.straight(shift_m - 2 * radius_m), speed * 0.7, 1.0)
        drawing.leg(drawing.arc(quarter, radius_m), speed)


def _carry_out(
    drawing: Drawing,
    rng: np.random.Generator,
    drawn: DrawnMotion,
    beds: list[tuple[int, int, float, bool]],
    field_heading: float,
) -> tuple[DrawnMotion, TruePath, tuple[TruePass, ...]]:
    """Turn line and program into a path in time.

    The program's own clock runs fast or slow with the wander of the speed, so every leg keeps its
    place on the ground.
    """
    duration, v0, v1, first, after = drawing.program()
    begins = np.concatenate([[0.0], np.cumsum(duration)])
    reached = np.concatenate([[0.0], np.cumsum((v0 + v1) / 2 * duration)])
    clock = np.arange(0.0, begins[-1] + GRID_S, GRID_S)
    wander = gauss_markov(rng, (len(clock),), GRID_S, drawn.wander, drawn.wander_time_s)
    pace = 1 / np.maximum(1 + wander, 0.2)
    time = np.concatenate([[0.0], np.cumsum((pace[1:] + pace[:-1]) / 2 * GRID_S)])
    grid = np.arange(0.0, time[-1], GRID_S)
    program = np.minimum(np.interp(grid, time, clock), begins[-1])
    k = np.clip(np.searchsorted(begins, program, side="right") - 1, 0, len(duration) - 1)
    dt = program - begins[k]
    along = reached[k] + v0[k] * dt + (v1[k] - v0[k]) / duration[k] * dt * dt / 2
    speed = (v0[k] + (v1[k] - v0[k]) / duration[k] * dt) / np.interp(grid, time, pace)

    line = drawing.line()
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
