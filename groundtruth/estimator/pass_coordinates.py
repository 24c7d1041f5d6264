"""One pass made ready for the model: fixes in axis coordinates, the motion clock, the two marks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..core.errors import MeasureError
from ..core.plane import Axis

Array = NDArray[np.float64]

LEAST_FIXES = 4
RAMP_DOUBT_S = 4.0
"""The speed is unsure for this long after moving off and before coming to stand, s."""
NEAR_MARK_S = 5.0
"""Fixes this near a mark tell the speed there, s."""
STAND_DOUBT_S = 1.5
"""Standing is sure only this long after coming to stand and before moving off, s."""
CORRECTED = (4, 5)
"""Quality indicators of NMEA 0183's GGA sentence: real-time kinematic, fixed and float."""
MOST_FIXES = 240
"""Above this, fixes that come at a high rate are averaged in blocks: they add little."""
MOST_SLOW_FIXES = 600
"""A pass of ten minutes at a fix a second; the influence of n fixes takes n³ operations."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stretch:
    """A pass between two marks, in the coordinates of its own axis.

    Arrays of shape (n,): ``time_s`` of the fixes, ``along_m`` and ``across_m`` from the middle,
    ``speed_m_s`` (NaN where unknown), ``used`` False where a fix is set aside. ``stops`` are
    (from, to) instants of standing. ``start_s`` and ``end_s`` are the marks between which the
    ground is wanted. ``axis`` is the direction of travel. ``wheel`` holds
    (instants, turns) of a wheel whose turns were timed: then it is the clock. ``edge_std_s`` is
    the doubt about each instant of moving off and coming to stand, 0 where they are known.
    ``interval_s`` is the usual time between fixes as they were recorded, ``accuracy_m`` the usual
    accuracy that the receiver reported, NaN where none, ``corrected_share`` the share of fixes
    that it calls corrected by carrier phase.
    """

    time_s: Array
    along_m: Array
    across_m: Array
    speed_m_s: Array
    used: NDArray[np.bool_]
    stops: tuple[tuple[float, float], ...]
    start_s: float
    end_s: float
    axis: Axis
    wheel: tuple[Array, Array] | None = None
    edge_std_s: float = 0.0
    interval_s: float = float("nan")
    accuracy_m: float = float("nan")
    corrected_share: float = 0.0

    def under_way_s(self, time_s: Array) -> Array:
        """The motion clock M: seconds under way at each instant, counted from ``start_s``. [s]

        Timed turns of the wheel follow the driving for free: they count as seconds of the mean
        rate while under way, so that a second of the clock stands for a second at working speed,
        as Doppler speeds take it.
        """
        if self.wheel is not None:
            instants, turns = self.wheel
            ends = instants[[0, -1]]
            stood = standing_before(self.stops, ends)
            rate = float(np.diff(ends - stood)[0] / (turns[-1] - turns[0]))
            origin = np.interp(self.start_s, instants, turns)
            return np.asarray(rate * (np.interp(time_s, instants, turns) - origin))
        return (
            time_s
            - self.start_s
            - (
                standing_before(self.stops, time_s)
                - standing_before(self.stops, np.array([self.start_s]))
            )
        )

    @property
    def driven_s(self) -> float:
        """Time between the marks less the standing, by the clock on the wall. [s]"""
        marks = np.array([self.start_s, self.end_s])
        stood = standing_before(self.stops, marks)
        return float(marks[1] - marks[0] - (stood[1] - stood[0]))

    def ramp_loss_s(self, time_s: Array, ramp_s: Array) -> Array:
        """What the motion clock loses while speeding up and slowing down. [s], shape (n, sets)

        The speed rises evenly within ``ramp_s`` (sets,) after a stop and falls so before one:
        τ seconds after moving off τ²/2r of the clock has passed instead of τ.
        """
        loss = np.zeros((len(time_s), len(ramp_s)))
        if self.wheel is not None:
            return loss
        for begin, until in self.stops:
            since = np.clip(time_s[:, None] - until, 0.0, ramp_s)
            braked = np.clip(time_s[:, None] - begin + ramp_s, 0.0, ramp_s)
            loss += since - since**2 / (2 * ramp_s) + braked**2 / (2 * ramp_s)
        return loss

    def gained_speed_m_s(self) -> float:
        """Speed at the second mark less that at the first, 0 at a mark in standing. [m/s]"""
        return self._speed_at(self.end_s) - self._speed_at(self.start_s)

    def _speed_at(self, mark_s: float) -> float:
        if self.wheel is None and any(a <= mark_s <= b for a, b in self.stops):
            return 0.0
        near = self.used & (np.abs(self.time_s - mark_s) <= NEAR_MARK_S)
        time_s = self.time_s[near] - mark_s
        if len(time_s) < 3 or np.ptp(time_s) < NEAR_MARK_S / 2:
            return self.rough_speed_m_s
        return float(np.polynomial.polynomial.polyfit(time_s, self.along_m[near], 1)[1])

    @property
    def rough_speed_m_s(self) -> float:
        """Working speed by a straight fit of position on the motion clock. [m/s]"""
        clock = self.under_way_s(self.time_s[self.used])
        along = self.along_m[self.used]
        centred = clock - clock.mean()
        spread = float(centred @ centred)
        return abs(float(centred @ along) / spread) if spread > 0 else 0.0


def in_standing(stops: Sequence[tuple[float, float]], mark_s: float) -> float:
    """A mark in or at a stop, moved to where standing is sure; any other mark as it is. [s]

    The ground is the same wherever in the stop the mark lies.
    """
    for begin, until in stops:
        if begin - 0.5 <= mark_s <= until + 0.5:
            inset = min(2 * STAND_DOUBT_S, (until - begin) / 2)
            return min(max(mark_s, begin + inset), until - inset)
    return mark_s


def standing_before(stops: Sequence[tuple[float, float]], time_s: Array) -> Array:
    """Seconds of standing up to each instant. [s]"""
    total = np.zeros_like(time_s)
    for begin, end in stops:
        total += np.clip(time_s - begin, 0.0, max(end - begin, 0.0))
    return total


def joined(windows: Sequence[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    """Windows (from, to) in order, those that overlap or touch made one. [s]"""
    out: list[tuple[float, float]] = []
    for low, high in sorted((float(a), float(b)) for a, b in windows):
        if out and low <= out[-1][1]:
            out[-1] = out[-1][0], max(high, out[-1][1])
        else:
            out.append((low, high))
    return tuple(out)


def axis_of(east_m: Array, north_m: Array) -> Axis:
    """The axis of the straight line nearest the fixes, in the direction of travel.

    Total least squares with Huber weights (1.345 standard deviations from the median absolute
    deviation), so that a few stray fixes do not turn the axis.
    """
    xy = np.stack([east_m, north_m], axis=1)
    weight = np.ones(len(xy))
    direction = np.array([1.0, 0.0])
    for _ in range(4):
        centre = (weight[:, None] * xy).sum(axis=0) / weight.sum()
        away = xy - centre
        _, vectors = np.linalg.eigh((weight[:, None] * away).T @ away)
        direction = vectors[:, 1]
        across = np.abs(away @ vectors[:, 0])
        scale = 1.345 * 1.4826 * float(np.median(across)) + 1e-6
        weight = np.minimum(1.0, scale / np.maximum(across, 1e-12))
    third = max(1, len(xy) // 3)
    forward = np.median(xy[-third:], axis=0) - np.median(xy[:third], axis=0)
    if forward @ direction < 0:
        direction = -direction
    return Axis(float(direction[0]), float(direction[1]))


def make_stretch(
    time_s: Array,
    east_m: Array,
    north_m: Array,
    speed_m_s: Array,
    *,
    stops: Sequence[tuple[float, float]] = (),
    start_s: float,
    end_s: float,
    wheel: tuple[Array, Array] | None = None,
    edge_std_s: float = 0.0,
    accuracy_m: Array | None = None,
    fix_quality: Array | None = None,
    name: str = "pass",
) -> Stretch:
    """Turn the fixes of one pass (arrays of shape (n,), metres and seconds) into a `Stretch`.

    With ``wheel``, instants and cumulative turns of shape (turns,), only fixes between its first
    and last instant are used. Fixes that repeat the position before them to the last digit are set
    aside: a phone that stands repeats itself, which is no new observation. Stops that overlap are
    one.

    Raises
    ------
    MeasureError : fewer than four different fixes, or the marks do not enclose any time under way.
    """
    if wheel is not None:
        timed = (time_s >= wheel[0][0]) & (time_s <= wheel[0][-1])
        time_s, east_m, north_m, speed_m_s = (
            values[timed] for values in (time_s, east_m, north_m, speed_m_s)
        )
    fresh = np.ones(len(time_s), dtype=bool)
    fresh[1:] = (np.diff(east_m) != 0) | (np.diff(north_m) != 0)
    if fresh.sum() < LEAST_FIXES:
        raise MeasureError(
            f"{name}: {int(fresh.sum())} different fixes; at least {LEAST_FIXES} are needed "
            "to tell how far it went"
        )
    if not end_s > start_s:
        raise MeasureError(f"{name}: its end is not after its start")
    stops = joined(stops)
    if wheel is None:
        start_s, end_s = in_standing(stops, start_s), in_standing(stops, end_s)
    axis = axis_of(east_m[fresh], north_m[fresh])
    middle_e, middle_n = float(np.mean(east_m[fresh])), float(np.mean(north_m[fresh]))
    away_e, away_n = east_m - middle_e, north_m - middle_n
    stretch = Stretch(
        time_s=np.asarray(time_s, dtype=float),
        along_m=axis.along(away_e, away_n),
        across_m=axis.across(away_e, away_n),
        speed_m_s=np.asarray(speed_m_s, dtype=float),
        used=fresh,
        stops=stops,
        start_s=float(start_s),
        end_s=float(end_s),
        axis=axis,
        wheel=wheel,
        edge_std_s=edge_std_s,
        interval_s=float(np.median(np.diff(time_s))),
        accuracy_m=_usual(accuracy_m),
        corrected_share=_corrected_share(fix_quality),
    )
    if stretch.under_way_s(np.array([end_s]))[0] <= 0:
        raise MeasureError(f"{name}: the tractor stood still all the time between its two marks")
    return _thinned(stretch)


def _corrected_share(fix_quality: Array | None) -> float:
    return 0.0 if fix_quality is None else float(np.isin(fix_quality, CORRECTED).mean())


def _usual(values: Array | None) -> float:
    """Median of the finite values, NaN where there are none."""
    known = np.zeros(0) if values is None else values[np.isfinite(values)]
    return float(np.median(known)) if len(known) else float("nan")


def _thinned(stretch: Stretch) -> Stretch:
    """Average neighbouring fixes in blocks of a second or more, so that about MOST_FIXES remain.

    Only where there are more that come faster than every 0.9 s, or more than MOST_SLOW_FIXES.
    """
    n = len(stretch.time_s)
    rate_step = float(np.median(np.diff(stretch.time_s)))
    if n <= (MOST_SLOW_FIXES if rate_step >= 0.9 else MOST_FIXES):
        return stretch
    block_s = max(1.0, (stretch.time_s[-1] - stretch.time_s[0]) / MOST_FIXES)
    keep = stretch.used
    label = np.floor((stretch.time_s[keep] - stretch.time_s[0]) / block_s).astype(np.int64)
    _, inverse, count = np.unique(label, return_inverse=True, return_counts=True)

    def mean(values: Array) -> Array:
        return np.asarray(np.bincount(inverse, values[keep]) / count)

    return replace(
        stretch,
        time_s=mean(stretch.time_s),
        along_m=mean(stretch.along_m),
        across_m=mean(stretch.across_m),
        speed_m_s=mean(stretch.speed_m_s),
        used=np.ones(len(count), dtype=bool),
    )
