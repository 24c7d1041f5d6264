"""By how much the sheet's clock is off, told from the stands and starts that the track shows.

An instant t of the sheet is the track's instant plus an offset o + d·(t − t̄) that all rows share:
the watch is off by o and gains d. Given them an instant lies evenly within the standing at that end
of its pass, or by the end itself where the tractor rolled on, but for reaction; some instants lie
anywhere. The prior of the offset is a Cauchy distribution about 0 and, less probable, about whole
hours (summer time, a zone mistaken); so is that of the drift. Both are summed out on grids.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from math import hypot, sqrt

import numpy as np
from numpy.typing import NDArray

from ...core.measured import Measured
from .. import Pass
from .sheet_rows import SheetRow

Array = NDArray[np.float64]

REACTION_S = 1.5
"""An instant is noted so much early or late (common practice, no source)."""
MOVING_OFF_S = 3.0
"""The instant of moving off or coming to stand is seen in the track to so much. Our choice."""
ASTRAY = 0.03
"""Share of instants that lie anywhere: a slip of the pen, or a count that began on the way."""
ASTRAY_SCALE_S = 60.0
NOWHERE = 1e-5
"""Density of an instant that has nothing to do with the pass, 1/s: somewhere in a day."""
FAR_S, FAR_STDS = 2500.0, 40.0
"""Farther from an end than the sum of the two its density is `NOWHERE` to the last digit."""
OFFSET_SCALE_S = 3.0
HOUR_SHARE = 0.005
"""Prior probability of each of the whole hours, from −12 to 12. Our choice."""
DRIFT_SCALE_S_PER_H = 2.0
"""Watches and phones keep time to seconds a day; one whose battery fails does not. Our choice."""
LEAST_GAIN = 5.0
"""An offset is believed that makes the sheet e⁵ times as probable, prior included."""
LEAST_OFFSET_S = 2.0
"""A smaller one moves nothing: instants in standing mean the same place."""
FITS = 12.0
"""Log density of a row over that of none where both of its ends lie in a standing of minutes."""
ROLLING_COMMON_S = 2.5
"""Ends on the move are found early or late by so much in common: a real tractor gathered speed for
long after the drop, and its right clock else seemed to be 4 s off. Of starts and ends together."""
NO_HABIT_S = 6.0
"""What starts and ends have in common beyond this is a clock sooner than a habit. Our choice (seen
on simulated days on the move, seeds 600000 to 600259)."""
MOST_ROWS = 30
_NEAR = np.arange(-900.0, 900.5, 2.0)
_ABOUT_HOUR = np.arange(-240.0, 240.5, 2.0)
_FINE = np.arange(-90.0, 90.25, 0.5)
_DRIFTS = np.arange(-80.0, 81.0, 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetClock:
    """The sheet's clock: ``offset_s`` ahead of the track's at ``about_s``, gaining so much an hour.

    ``drift_s_per_h`` is 0 where none could be told.
    """

    offset_s: Measured
    drift_s_per_h: float
    about_s: float

    def correction_s(self, instant_s: float) -> float:
        """What has to be added to an instant of the sheet. [s]"""
        hours = (instant_s - self.about_s) / 3600
        return -(self.offset_s.value + self.drift_s_per_h * hours)


@dataclass(frozen=True, slots=True)
class _Ends:
    """Between which instants an end of each pass lies, and to what standard deviation. [s]

    Each an array (passes,).
    """

    low_s: Array
    high_s: Array
    std_s: Array

    def near(self, instant_s: Array) -> NDArray[np.intp]:
        """The passes whose density at one of the instants differs from `NOWHERE`."""
        beside = FAR_S + FAR_STDS * self.std_s
        low, high = instant_s.min(), instant_s.max()
        return np.flatnonzero((self.low_s - beside < high) & (self.high_s + beside > low))

    def log_density(self, which: NDArray[np.intp], instant_s: Array) -> Array:
        """Log density of instants (n,) as that end of some of the passes. (which, n)"""
        from scipy.special import ndtr

        low, high, std_s = (a[which, None] for a in (self.low_s, self.high_s, self.std_s))
        inside = ndtr((instant_s - low) / std_s) - ndtr((instant_s - high) / std_s)
        away_s = np.abs(instant_s - np.clip(instant_s, low, high))
        astray = np.exp(-away_s / ASTRAY_SCALE_S) / (2 * ASTRAY_SCALE_S)
        density = (1 - ASTRAY) * inside / (high - low) + ASTRAY * astray + NOWHERE
        return np.asarray(np.log(density), dtype=np.float64)


def _ends_of(
    passes: Sequence[Pass], resolution_s: float, *, at_start: bool, under_way: bool
) -> _Ends:
    ends = [_end_of(p, resolution_s, at_start=at_start, under_way=under_way) for p in passes]
    return _Ends(*np.array(ends, dtype=np.float64).reshape(-1, 3).T)


def _end_of(
    found: Pass, resolution_s: float, *, at_start: bool, under_way: bool
) -> tuple[float, float, float]:
    """Earliest and latest instant of an end of a pass and their standard deviation. [s]"""
    end = found.start if at_start else found.end
    low, high, std_s = end.time_s - 0.5, end.time_s + 0.5, REACTION_S
    if under_way:
        std_s = MOVING_OFF_S
    if end.found == "stopped" and not under_way:
        for begin, until in found.stops:
            if begin <= end.time_s <= until:
                low, high = min(low, begin), max(high, until)
    if not under_way:  # whether the tractor stood is in doubt too, and so where the end lies
        speed = max(found.speed_m_s, 0.1)
        std_s = hypot(REACTION_S, end.std_m / speed)
    if end.found == "track ends":  # it goes on where nobody recorded
        low, high = (low - 600, high) if at_start else (low, high + 600)
    if resolution_s > 1:  # cut to the step, or rounded
        low, high = low - resolution_s, high + resolution_s / 2
    return low, high, std_s


def end_log_density(
    found: Pass, instant_s: Array, resolution_s: float, *, at_start: bool, under_way: bool
) -> Array:
    """Log probability density of instants as that of an end of a pass. Shape of ``instant_s``.

    ``under_way`` says that they were taken when the wheel began or ceased to turn, not in standing.
    """
    ends = _ends_of([found], resolution_s, at_start=at_start, under_way=under_way)
    return np.asarray(ends.log_density(np.zeros(1, dtype=np.intp), instant_s)[0])


def time_scores(rows: Sequence[SheetRow], passes: Sequence[Pass], offset_s: Array) -> Array:
    """Log density of each row's instants on each pass over that on none, (rows, passes, offsets).

    0 where a row has no instants; ``offset_s`` (offsets,) is the clock's lead. [s]
    """
    scores = np.zeros((len(rows), len(passes), len(offset_s)))

    @cache
    def ends_of(resolution_s: float, at_start: bool, under_way: bool) -> _Ends:
        return _ends_of(passes, resolution_s, at_start=at_start, under_way=under_way)

    for row, score in zip(rows, scores, strict=True):
        if row.start_s is None or row.end_s is None:
            continue
        for instant_s, at_start in ((row.start_s, True), (row.end_s, False)):
            at = instant_s - offset_s
            ends = ends_of(row.resolution_s, at_start, row.under_way)
            near = ends.near(at)
            score[near] += ends.log_density(near, at) - np.log(NOWHERE)
    return scores


def sheet_clock(rows: Sequence[SheetRow], passes: Sequence[Pass]) -> SheetClock | None:
    """The sheet's clock where it is off, None where nothing speaks against its being right."""
    timed = [row for row in rows if row.start_s is not None]
    if not timed or not passes:
        return None
    some = [timed[i] for i in np.unique(np.linspace(0, len(timed) - 1, MOST_ROWS).astype(int))]
    grid = _NEAR
    density = _best_passes(some, passes, grid)
    if density.max() < FITS * len(some):
        hours = [h * 3600 + _ABOUT_HOUR for h in range(-12, 13) if h]
        grid = np.concatenate([grid, *hours])
        density = np.concatenate([density, *(_best_passes(some, passes, h) for h in hours)])
    posterior = density + _log_prior(grid)
    right = posterior[np.argmin(np.abs(grid))]
    best = int(np.argmax(posterior))
    if posterior[best] - right < LEAST_GAIN:
        return _drifting(timed, passes, 0.0)
    return _drifting(timed, passes, float(grid[best]))


def _best_passes(rows: Sequence[SheetRow], passes: Sequence[Pass], offset_s: Array) -> Array:
    """Log density of all rows, each on the pass that fits it best. (offsets,)"""
    total = np.zeros(len(offset_s))
    for row in rows:
        total += time_scores([row], passes, offset_s)[0].max(axis=0)
    return total


def _log_prior(offset_s: Array) -> Array:
    def cauchy(x: Array) -> Array:
        return np.asarray(1 / (np.pi * OFFSET_SCALE_S * (1 + (x / OFFSET_SCALE_S) ** 2)))

    density = cauchy(offset_s)
    for hour in range(-12, 13):
        if hour:
            density = density + HOUR_SHARE * cauchy(offset_s - hour * 3600)
    return np.log(density)


def _drifting(rows: Sequence[SheetRow], passes: Sequence[Pass], about: float) -> SheetClock | None:
    """Offset near ``about`` and drift from all rows on the passes that fit them there."""
    grid = about + _FINE
    best = time_scores(rows, passes, np.array([about]))[:, :, 0].argmax(axis=1)
    instants = np.array([row.start_s or 0.0 for row in rows])
    middle = float(instants.mean())
    hours = (instants - middle) / 3600
    of_row = [
        time_scores([row], [passes[j]], grid)[0, 0] for row, j in zip(rows, best, strict=True)
    ]
    log_posterior = np.array(
        [
            sum(
                np.interp(grid + drift * h, grid, score)
                for h, score in zip(hours, of_row, strict=True)
            )
            - np.log1p((drift / DRIFT_SCALE_S_PER_H) ** 2)
            for drift in _DRIFTS
        ]
    )
    log_posterior = log_posterior + _log_prior(grid)
    weight = _weights(log_posterior)
    drift_weight, offset_weight = weight.sum(axis=1), weight.sum(axis=0)
    drift = _moments(_DRIFTS, drift_weight)
    offset = _moments(grid, offset_weight)
    matched = [passes[j] for j in best]
    habit_s = _habit_s(rows, matched, grid)
    common_s = ROLLING_COMMON_S * _share_on_the_move(matched)
    known = abs(offset.value) > 3 * offset.std
    # a habit may be all at the starts, all at the ends, or anything between
    even_s = hypot(offset.std, common_s, habit_s / sqrt(3))
    offset = replace(offset, std=hypot(offset.std, common_s, habit_s))
    known = known and abs(offset.value) > min(2 * offset.std, max(even_s, NO_HABIT_S))
    drifts = abs(drift.value) > 3 * drift.std
    known_drift = drift.value if drifts else 0.0
    most = float(np.abs(offset.value) + np.abs(known_drift) * np.abs(hours).max())
    still = not drifts and not known
    gain = log_posterior.max() - log_posterior[len(_DRIFTS) // 2, np.argmin(np.abs(grid))]
    if still or most < LEAST_OFFSET_S or (about == 0 and gain < LEAST_GAIN):
        return None
    return SheetClock(offset_s=offset, drift_s_per_h=known_drift, about_s=middle)


def _habit_s(rows: Sequence[SheetRow], passes: Sequence[Pass], grid: Array) -> float:
    """Half of what starts and ends differ in about the offset, beyond their own doubt. [s]

    A clock that is off moves both alike; a count that begins after the tractor moved off and ends
    before it stood, as with the seeder dropped and lifted on the way, moves them apart.
    """
    sides = []
    for at_start in (True, False):
        total = _log_prior(grid)
        for row, found in zip(rows, passes, strict=True):
            instant = row.start_s if at_start else row.end_s
            at = (instant or 0.0) - grid
            total = total + end_log_density(
                found, at, row.resolution_s, at_start=at_start, under_way=row.under_way
            )
        sides.append(_moments(grid, _weights(total)))
    starts, ends = sides
    apart = (starts.value - ends.value) ** 2 - starts.std**2 - ends.std**2
    return float(np.sqrt(max(apart, 0.0))) / 2


def _share_on_the_move(passes: Sequence[Pass]) -> float:
    """Share of the ends at which the tractor did not stand."""
    return float(np.mean([e.found != "stopped" for p in passes for e in (p.start, p.end)]))


def _weights(log_density: Array) -> Array:
    """Weights that sum to 1, of the shape of the logarithms."""
    weight = np.exp(log_density - log_density.max())
    return np.asarray(weight / weight.sum())


def _moments(values: Array, weight: Array) -> Measured:
    mean = float(weight @ values)
    return Measured(mean, float(weight @ (values - mean) ** 2) ** 0.5)
