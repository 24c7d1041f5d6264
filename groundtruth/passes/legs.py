"""Straight legs along a direction of the day.

A day of sowing is a zigzag. Along the beds' direction the track goes up and down between turning
fixes that lie far apart, whatever the position noise, so each swing between two turning fixes
holds at most one pass (unless it is driven on without turning). Within a swing the pass is the
part that keeps to the direction and the working speed.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ..core.plane import Axis
from .resampling import LONGEST_GAP_S, PlaneTrack

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

SHORTEST_M = 18.0
"""Shorter straight legs are not looked at: they belong to turning and lining up."""
FASTEST_M_S = 2.6
"""Seeders are hardly driven faster. Singling worsens well below it (vacuum seeders: best at
0.5 m/s, worse at 2 m/s, SciELO "Vacuum precision seeders"); the margin is ours."""
EVEN_FASTER_M_S = 4.6
"""The fastest that is looked for, where a whole field was driven faster than that."""
CHORDS_S = (10, 14, 20, 28)
"""Speed and heading are taken over chords of one of these durations, in steps of the grid."""
ASTRAY_M = 5.0
"""Where a leg is taken up again after a lapse, positions may have been thrown so far."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """A straight leg.

    Rough instants, a few metres inside its ends, the axis of travel, the range covered along it
    from the origin, its place across, how far it turns clockwise from the direction searched along,
    and the speed under way.
    """

    begin_s: float
    end_s: float
    axis: Axis
    along_m: tuple[float, float]
    across_m: float
    drift_rad: float
    speed_m_s: float

    @property
    def length_m(self) -> float:
        """Distance between the two rough ends. [m]"""
        return abs(self.along_m[1] - self.along_m[0])

    def overlap(self, other: Leg) -> float:
        """Time that two legs share, as a share of the time of both together."""
        shared = min(self.end_s, other.end_s) - max(self.begin_s, other.begin_s)
        both = max(self.end_s, other.end_s) - min(self.begin_s, other.begin_s)
        return max(shared, 0.0) / both


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Grid:
    """The smoothed track on an even grid of 1 s (long gaps shortened), with velocity by chords."""

    time_s: Array  # real instants
    xy_m: Array  # (2, n)
    velocity_m_s: Array  # (2, n)

    def between(self, begin_s: float, end_s: float) -> Grid:
        """The part between two instants."""
        a, b = np.searchsorted(self.time_s, [begin_s, end_s]).tolist()
        return Grid(
            time_s=self.time_s[a:b],
            xy_m=self.xy_m[:, a:b],
            velocity_m_s=self.velocity_m_s[:, a:b],
        )

    @property
    def speed_m_s(self) -> Array:
        """Length of the velocity, (n,). [m/s]"""
        return np.asarray(np.hypot(*self.velocity_m_s))


def grid_of(fixes: PlaneTrack) -> Grid | None:
    """The fixes, without jumps, on a grid; None where they span less than 3 s."""
    from scipy.ndimage import median_filter

    keep = ~fixes.jump
    time, xy = fixes.time_s[keep], fixes.xy_m[:, keep]
    if len(time) < 3 or time[-1] - time[0] < 3:
        return None
    clock = np.concatenate([[0.0], np.cumsum(np.minimum(np.diff(time), LONGEST_GAP_S))])
    steps = np.arange(0.0, clock[-1] + 1e-6)
    even = np.stack([np.interp(steps, clock, row) for row in xy])
    even = median_filter(even, size=(1, 5), mode="nearest")
    padded = np.pad(even, [(0, 0), (1, 1)], mode="edge")
    even = (padded[:, :-2] + padded[:, 1:-1] + padded[:, 2:]) / 3
    velocity = _velocity(even)
    return Grid(time_s=np.interp(steps, clock, time), xy_m=even, velocity_m_s=velocity)


def _velocity(xy_m: Array) -> Array:
    """Velocity by the shortest chords whose error is under a fifth of the usual speed, (2, n).

    On straight, steady stretches the second difference over half chords is error alone; its median
    over the day is taken, since turns are short.
    """
    at = np.arange(xy_m.shape[1])
    velocity = np.zeros_like(xy_m)
    for chord in CHORDS_S:
        early, late = np.maximum(at - chord // 2, 0), np.minimum(at + chord // 2, at[-1])
        velocity = (xy_m[:, late] - xy_m[:, early]) / (late - early)
        bend = xy_m[:, late] - 2 * xy_m + xy_m[:, early]
        error = 1.48 * float(np.median(np.abs(bend))) / np.sqrt(2) / chord
        speed = np.hypot(*velocity)
        slow = speed[(speed > 0.15) & (speed < FASTEST_M_S)]
        if not len(slow) or error < 0.2 * float(np.median(slow)):
            break
    return velocity


def main_directions(grid: Grid, fastest_m_s: float = FASTEST_M_S) -> list[float]:
    """Directions (mod π, from east towards north) in which most of the slow driving went."""
    speed = grid.speed_m_s
    weight = np.where((speed > 0.15) & (speed < fastest_m_s), np.minimum(speed, 1.0), 0.0)
    if weight.sum() == 0:
        return []
    angle = np.arctan2(grid.velocity_m_s[1], grid.velocity_m_s[0]) % np.pi
    counts = np.bincount((angle * 180 / np.pi).astype(np.int64) % 180, weight, minlength=180)
    apart = np.minimum(np.arange(180), 180 - np.arange(180))
    kernel = np.exp(-0.5 * (apart / 5.0) ** 2)
    smooth = np.real(np.fft.ifft(np.fft.fft(counts) * np.fft.fft(kernel)))
    found: list[float] = []
    left = smooth.copy()
    while len(found) < 5:
        best = int(np.argmax(left))
        if left[best] < 0.1 * smooth.max():
            break
        found.append((best + 0.5) * np.pi / 180)
        left[np.roll(apart, best) < 20] = 0
    return found


def turning_points(along: Array, threshold_m: float) -> list[int]:
    """Indices of the extremes of a zigzag whose swings exceed the threshold, ends included."""
    values = along.tolist()
    fixes = [0]
    low = high = 0
    direction = 0
    for i, value in enumerate(values):
        if value > values[high]:
            high = i
        if value < values[low]:
            low = i
        if direction >= 0 and value < values[high] - threshold_m:
            fixes.append(high)
            direction, low, high = -1, i, i
        elif direction <= 0 and value > values[low] + threshold_m:
            fixes.append(low)
            direction, low, high = 1, i, i
    fixes.append(high if direction >= 0 else low)
    fixes.append(len(values) - 1)
    return sorted(set(fixes))


def legs_along(grid: Grid, angle: float, fastest_m_s: float) -> list[Leg]:
    """Runs to and fro along one direction."""
    axis = Axis(float(np.cos(angle)), float(np.sin(angle)))
    along, across = axis.along(*grid.xy_m), axis.across(*grid.xy_m)
    speed, forward = grid.speed_m_s, axis.along(*grid.velocity_m_s)
    legs = []
    turns = turning_points(along, 0.7 * SHORTEST_M)
    for i, j in pairwise(turns):
        swing = along[j] - along[i]
        if abs(swing) < SHORTEST_M or j - i < 5:
            continue
        sign = 1.0 if swing > 0 else -1.0
        inside = slice(i, j + 1)
        moving = speed[inside] > 0.25
        off = moving & (sign * forward[inside] < np.cos(np.radians(35)) * speed[inside])
        fast = speed[inside] > fastest_m_s
        for a, b in _unbroken(off, fast, sign * along[inside], across[inside], fastest_m_s):
            a, b = _core(sign * along[inside], a, b)
            a, b = a + i, b + i
            pace = under_way(speed[a : b + 1])
            if sign * (along[b] - along[a]) < SHORTEST_M - 8 or pace > fastest_m_s:
                continue
            legs.append(
                Leg(
                    begin_s=float(grid.time_s[a]),
                    end_s=float(grid.time_s[b]),
                    axis=axis if swing > 0 else axis.opposite,
                    along_m=(float(along[a]), float(along[b])),
                    across_m=float(np.median(across[a : b + 1])),
                    drift_rad=float(np.arctan((across[b] - across[a]) / (along[b] - along[a]))),
                    speed_m_s=pace,
                )
            )
    return legs


def under_way(speed: Array) -> float:
    """Cruising speed: upper quartile of the speeds that are not standing or creeping. [m/s]"""
    return float(np.percentile(speed[speed >= 0.5 * np.percentile(speed, 90)], 75))


def _unbroken(
    off: Flags, fast: Flags, along: Array, across: Array, fastest_m_s: float
) -> list[tuple[int, int]]:
    """Stretches without fixes that are off or fast; lapses of up to 25 s that lead on along the
    same line, and on the whole no faster than is allowed, are overlooked. ``along`` grows."""
    bad = (off | fast).astype(np.int8)
    edges = np.flatnonzero(np.diff(np.concatenate([[1], bad, [1]])))
    joined: list[tuple[int, int]] = []
    for a, b in edges.reshape(-1, 2).tolist():
        if joined:
            before = joined[-1][1]
            on, aside = along[a] - along[before], abs(across[a] - across[before])
            fast_s = int(fast[before:a].sum())
            steady = fast_s < 5 or on < fastest_m_s * (a - before)
            aligned = aside < ASTRAY_M + 0.5 * max(on, 0.0)
            if steady and aligned and a - before <= 25 and on > -ASTRAY_M:
                joined[-1] = (joined[-1][0], b - 1)
                continue
        joined.append((a, b - 1))
    return joined


def _core(along: Array, first: int, last: int) -> tuple[int, int]:
    """The stretch without its first and last few metres, and so without long standing there."""
    part = along[first : last + 1]
    if part[-1] <= part[0]:
        return first, last
    edge = min(4.0, 0.15 * float(part[-1] - part[0]))
    begun = np.flatnonzero(part <= part[0] + edge)[-1]
    done = np.flatnonzero(part >= part[-1] - edge)[0]
    return (first + int(begun), first + int(done)) if done > begun else (first, last)
