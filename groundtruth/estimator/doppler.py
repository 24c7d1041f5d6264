"""Which Doppler speeds tell the working speed: those after speeding up and before slowing down."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from .pass_coordinates import Stretch

Array = NDArray[np.float64]

RAMPS_S = np.arange(0.5, 8.01, 0.25)
"""Times to reach the working speed that are tried, s."""
LOOKED_AT_S = 12.0
"""Speeds so far from a stop show how long it takes, s."""
CLEAR_S = 1.0
"""A speed is used from this long after the working speed has been reached, s."""
LEAST_SHARE = 0.3
"""Speeds below this share of the working speed are of a tractor that stands or turns."""
EITHER_SIDE_S = 5.0
"""How fast timed turns went at a fix is taken from so much before and after it, s."""


def working_speeds(stretches: Sequence[Stretch], *, doppler: bool) -> list[Stretch]:
    """The stretches with every speed that is not the working speed left out (NaN).

    How long the tractor takes to reach its speed, and as long to stop, is taken from the speeds
    of all passes: the even ramp that fits them best. Where timed turns are the clock, a speed is
    taken to the pace of the clock: the model knows metres per second of the clock only.
    """
    if not doppler:
        return [replace(s, speed_m_s=np.full_like(s.speed_m_s, np.nan)) for s in stretches]
    clear = _ramp_s(stretches) + CLEAR_S
    out = []
    for s in stretches:
        working = (_from_stops_s(s) >= clear) & (s.speed_m_s > LEAST_SHARE * s.rough_speed_m_s)
        out.append(replace(s, speed_m_s=np.where(working, s.speed_m_s / _pace(s), np.nan)))
    return out


def _pace(stretch: Stretch) -> Array:
    """Seconds of the motion clock to a second under way at each fix, 1 but for timed turns. (n,)"""
    if stretch.wheel is None:
        return np.ones(len(stretch.time_s))
    first, last = stretch.wheel[0][[0, -1]]
    before = np.maximum(stretch.time_s - EITHER_SIDE_S, first)
    after = np.minimum(stretch.time_s + EITHER_SIDE_S, last)
    turned = stretch.under_way_s(after) - stretch.under_way_s(before)
    return np.asarray(np.maximum(turned / (after - before), LEAST_SHARE))


def _from_stops_s(stretch: Stretch) -> Array:
    """Seconds between each fix and the nearest standing; 0 within it. (n,)"""
    time = stretch.time_s
    away = np.full(len(time), np.inf)
    for begin, until in stretch.stops:
        away = np.minimum(away, np.maximum(np.maximum(begin - time, time - until), 0.0))
    return away


def _ramp_s(stretches: Sequence[Stretch]) -> float:
    """Seconds from standing to the working speed, by least squares over all passes."""
    away, share = [], []
    for s in stretches:
        since = _from_stops_s(s)
        known = np.isfinite(s.speed_m_s)
        steady = known & (since > LOOKED_AT_S)
        if steady.any():
            near = known & (since > 0) & (since <= LOOKED_AT_S)
            away.append(since[near])
            share.append(s.speed_m_s[near] / float(np.median(s.speed_m_s[steady])))
    if not away or not sum(map(len, away)):
        return float(RAMPS_S[-1])
    since, seen = np.concatenate(away), np.concatenate(share)
    model = np.minimum(since / RAMPS_S[:, None], 1.0)
    return float(RAMPS_S[np.argmin(((seen - model) ** 2).sum(axis=1))])
