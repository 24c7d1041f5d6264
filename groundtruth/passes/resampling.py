"""The track as the pass finder looks at it: metres, at most one point a second, jumps flagged."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.plane import Plane
from ..core.track import Track

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

LONGEST_GAP_S = 60.0
"""Longer breaks in the recording are shortened to this where fixes are put on an even grid."""
AROUND_S, STAYS_WITHIN_M = 30, 5.0
"""A fix lies in the middle of a break where the tractor stays within so much, as the phone sees it,
for so long before and after: the slowest sowing, 0.2 m/s, makes 12 m in that time (judgement)."""
TURNED_S = 5.0
"""A tractor turns about in no less time, s (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlaneTrack:
    """Fixes in order of time in the plane, shape (n,) each.

    ``xy_m`` has shape (2, n), east and north. ``frozen`` marks fixes whose coordinates repeat the
    fix before, ``jump`` fixes that lie in a block thrown aside by reflected signals. ``speed_m_s``
    is the reported speed, NaN where missing.
    """

    time_s: Array
    xy_m: Array
    speed_m_s: Array
    frozen: Flags
    jump: Flags

    def cut(self, first: int, last: int) -> PlaneTrack:
        """The fixes ``first`` to ``last`` inclusive."""
        return self.taken(slice(first, last + 1))

    def taken(self, which: slice | Flags) -> PlaneTrack:
        """Those of the fixes."""
        return PlaneTrack(
            time_s=self.time_s[which],
            xy_m=self.xy_m[:, which],
            speed_m_s=self.speed_m_s[which],
            frozen=self.frozen[which],
            jump=self.jump[which],
        )


def resampled(track: Track, plane: Plane, step_s: float) -> PlaneTrack:
    """Averages over bins of ``step_s`` where fixes come faster than that, else the fixes."""
    xy = np.stack(plane.to_metres(track.longitude_deg, track.latitude_deg))
    time, speed = track.time_s, track.speed_m_s
    frozen = np.zeros(len(time), dtype=bool)
    frozen[1:] = (np.diff(track.longitude_deg) == 0) & (np.diff(track.latitude_deg) == 0)
    if len(time) > 2 and np.median(np.diff(time)) < 0.9 * step_s:
        cell = np.floor((time - time[0]) / step_s).astype(np.int64)
        starts = np.flatnonzero(np.diff(cell, prepend=-1))
        count = np.diff(np.append(starts, len(time)))
        time = np.add.reduceat(time - time[0], starts) / count + time[0]
        xy = np.add.reduceat(xy, starts, axis=1) / count
        speed = np.add.reduceat(speed, starts) / count
        frozen = np.logical_and.reduceat(frozen, starts)
    return PlaneTrack(time_s=time, xy_m=xy, speed_m_s=speed, frozen=frozen, jump=jumps(time, xy))


def jumps(time_s: Array, xy_m: Array, *, longest_s: float = 10.0) -> Flags:
    """Blocks of fixes that are thrown aside and come back within ``longest_s``.

    A step that differs from the steps around it by more than six times the usual difference (and
    more than 2.5 m, and more than a turn makes between two fixes) opens a block; a later step that
    undoes it closes it.
    """
    from scipy.ndimage import median_filter

    flagged = np.zeros(len(time_s), dtype=bool)
    if len(time_s) < 10:
        return flagged
    step = np.diff(xy_m, axis=1)
    odd = step - median_filter(step, size=(1, 9), mode="nearest")
    size = np.hypot(*odd)
    turned = min(1.0, float(np.median(np.diff(time_s))) / TURNED_S)
    by_turning = 2 * turned * float(np.quantile(np.hypot(*step), 0.75))
    threshold = max(2.5, 6 * float(np.median(size)), by_turning)
    large = np.flatnonzero(size > threshold)
    k = 0
    while k < len(large) - 1:
        opened = large[k]
        k += 1
        for j in range(k, len(large)):
            closed = large[j]
            if time_s[closed] - time_s[opened] > longest_s:
                break
            if np.hypot(*(odd[:, opened] + odd[:, closed])) < 0.5 * size[opened]:
                flagged[opened + 1 : closed + 1] = True
                k = j + 1
                break
    return flagged


def without_breaks(fixes: PlaneTrack) -> PlaneTrack:
    """The fixes without the middle of breaks, which says how the phone drifts and nothing else.

    In a quarter of an hour of standing a phone drifts by as much as a headland is wide.
    """
    from scipy.ndimage import maximum_filter1d, minimum_filter1d, uniform_filter1d

    keep = ~fixes.jump
    if keep.sum() < 3:
        return fixes
    steps = np.diff(fixes.time_s[keep])
    clock = np.concatenate([[0.0], np.cumsum(np.minimum(steps, LONGEST_GAP_S))])
    grid = np.arange(0.0, clock[-1] + 1.0)
    size = 2 * AROUND_S + 1
    stays = np.ones(len(grid), dtype=bool)
    for row in fixes.xy_m[:, keep]:
        calm = uniform_filter1d(np.interp(grid, clock, row), 9, mode="nearest")
        reach = maximum_filter1d(calm, size) - minimum_filter1d(calm, size)
        stays &= reach < STAYS_WITHIN_M
    stays[:AROUND_S] = stays[-AROUND_S:] = False
    of_fix = np.interp(fixes.time_s, fixes.time_s[keep], clock)
    return fixes.taken(~stays[np.round(of_fix).astype(np.int64)])
