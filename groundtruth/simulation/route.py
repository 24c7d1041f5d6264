"""A route: a line over the ground, drawn leg by leg, and the speeds that it is driven at."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class Route:
    """A line drawn by moving a pose about, and the legs that it is driven in."""

    def __init__(self, heading_rad: float, acceleration_m_s2: float) -> None:
        self.pose = np.array([0.0, 0.0, heading_rad])
        self.acceleration = acceleration_m_s2
        self._points: list[Array] = [np.zeros((1, 2))]
        self._length = 0.0
        self._legs: list[tuple[float, float]] = []  # length, cruising speed
        self._stop: list[float] = []  # standing after the leg, s; negative: roll on

    def append(self, points: Array, end: tuple[float, float, float]) -> float:
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
        return self.append(np.array([[length_m, 0.0]]), (length_m, 0.0, 0.0))

    def arc(self, angle_rad: float, radius_m: float) -> float:
        """Forward along an arc, to the left for positive angles."""
        n = max(2, int(abs(angle_rad) * radius_m / 0.25))
        a = np.linspace(0, abs(angle_rad), n + 1)[1:]
        points = np.column_stack([np.sin(a), np.sign(angle_rad) * (1 - np.cos(a))]) * radius_m
        return self.append(points, (points[-1, 0], points[-1, 1], angle_rad))

    def leg(self, length_m: float, speed_m_s: float, stand_s: float = -1.0) -> int:
        """Add a leg, and how long to stand after it (negative: roll on); returns its index."""
        self._legs.append((length_m, speed_m_s))
        self._stop.append(stand_s)
        return len(self._legs) - 1

    def speed_profile(self) -> tuple[Array, Array, Array, Array, Array]:
        """Phases of even acceleration: duration, speed at start and end; then for each leg the
        index of its first phase and of the phase after its last moving one."""
        phases: list[tuple[float, float, float]] = []
        first, after = [], []
        v0 = 0.0
        for k, (length, cruise) in enumerate(self._legs):
            following = self._legs[k + 1][1] if k + 1 < len(self._legs) else 0.0
            v1 = 0.0 if self._stop[k] >= 0 else min(cruise, following)
            first.append(len(phases))
            phases += _trapezoid(length, v0, cruise, v1, self.acceleration)
            after.append(len(phases))
            if self._stop[k] > 0:
                phases.append((self._stop[k], 0.0, 0.0))
            v0 = v1
        table = np.array(phases)
        return table[:, 0], table[:, 1], table[:, 2], np.array(first), np.array(after)

    @property
    def legs(self) -> int:
        """How many legs there are so far."""
        return len(self._legs)

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
