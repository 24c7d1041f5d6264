"""When the tractor really moved off and came to stand, from the fixes themselves.

A pass finder is sure of an instant within the standing; the tractor may have stood seconds
longer. The working line, carried back to the place of the stand, meets it where the motion clock
must begin: half the ramp after moving off.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from .pass_coordinates import axis_of

Array = NDArray[np.float64]

LONG_STEP_S = 3.0
"""Of fixes so far apart the first after a stop tells little of the working speed, s."""
USUAL_RAMP_S = 2.7
"""Time to reach the working speed, the middle of what the model expects, s."""
CLEAR_OF_RAMP_S = 4.0
"""The working line is taken from where the stand lies so many seconds of driving behind, s."""
LINE_S = 15.0
"""For this long, s, and over at least so many steps between fixes:"""
LEAST_STEPS = 3
EDGE_STD_S = 1.5
"""Doubt about an instant of moving off or coming to stand after that: found by simulated days."""
LONGEST_S = 25.0
"""An end of a stop is moved by at most this, s."""


def refined_stops(
    time_s: Array, east_m: Array, north_m: Array, stops: Sequence[tuple[float, float]]
) -> tuple[tuple[float, float], ...]:
    """The stops of one pass with their ends where the fixes say, on the side of the motion.

    ``time_s``, ``east_m``, ``north_m`` (n,) are the fixes of the pass. An end stays as it is where
    there are too few fixes to tell. The answer lies on the moving side of the end given, since
    the stops handed in are times of sure standing. Only what was driven between two stops tells
    their ends; where these would cross, both stay as they are.
    """
    if len(time_s) < 8:
        return tuple(stops)
    along = axis_of(east_m, north_m).along(east_m, north_m)
    step_s = float(np.median(np.diff(time_s)))
    aside_s = LINE_S / 2 + (step_s if step_s > LONG_STEP_S else 0.0)
    clear = _away_from(stops, time_s, aside_s)
    if clear.sum() < 4:
        clear = _away_from(stops, time_s, 0.0)
    if clear.sum() < 4:
        return tuple(stops)
    speed = float(np.median(np.diff(along[clear]) / np.diff(time_s[clear])))
    # not across a stop or a gap, where the time is not that of the way
    lapse = np.diff(time_s[clear])
    close = lapse <= 3 * step_s
    run, seconds = float(np.diff(along[clear])[close].sum()), float(lapse[close].sum())
    mean_speed = run / seconds if seconds > 0 else speed
    speed = mean_speed if 0.7 * speed < mean_speed < 1.4 * speed else speed
    if speed <= 0.05:
        return tuple(stops)
    settled = []
    for begin, until in stops:
        standing = (time_s >= begin) & (time_s <= until)
        if not standing.any():
            settled.append(_between_fixes(time_s, begin, until))
            continue
        level = float(np.mean(along[standing]))
        before = time_s > max((b for _, b in stops if b <= begin), default=-np.inf)
        after = time_s < min((a for a, _ in stops if a >= until), default=np.inf)
        left = _meets(time_s[after], along[after], level, speed, until, forward=True)
        came = _meets(time_s[before], along[before], level, speed, begin, forward=False)
        settled.append((begin if came is None else came, until if left is None else left))
    for k in range(len(stops) - 1):
        if settled[k][1] > settled[k + 1][0]:
            settled[k] = settled[k][0], stops[k][1]
            settled[k + 1] = stops[k + 1][0], settled[k + 1][1]
    return tuple(settled)


def _away_from(
    stops: Sequence[tuple[float, float]], time_s: Array, aside_s: float
) -> NDArray[np.bool_]:
    """Which instants lie farther than so much from every stop. (n,)"""
    clear = np.ones(len(time_s), dtype=bool)
    for begin, until in stops:
        clear &= (time_s < begin - aside_s) | (time_s > until + aside_s)
    return clear


def _between_fixes(time_s: Array, begin_s: float, until_s: float) -> tuple[float, float]:
    """A stop of which no fix tells: each end half the way on to the next fix.

    The tractor came and left at any instant between the fixes about it, the sure standing apart.
    """
    before, after = time_s[time_s < begin_s], time_s[time_s > until_s]
    came = begin_s if not len(before) else (begin_s + float(before[-1])) / 2
    left = until_s if not len(after) else (until_s + float(after[0])) / 2
    return came, left


def _meets(
    time_s: Array, along_m: Array, level_m: float, speed: float, edge_s: float, *, forward: bool
) -> float | None:
    """Moving off (``forward``) or coming to stand, with the usual ramp; None where not seen."""
    sign = 1.0 if forward else -1.0
    away = sign * (along_m - level_m)
    after = sign * (time_s - edge_s)
    moving = (after > 0) & (away > CLEAR_OF_RAMP_S * speed)
    if not moving.any():
        return None
    first = float(after[moving].min())
    line_s = max(LINE_S, LEAST_STEPS * float(np.median(np.diff(time_s))))
    window = (after >= first) & (after <= first + line_s)
    if window.sum() < 2 or first > LONGEST_S + 2 * CLEAR_OF_RAMP_S:
        return None
    meets = float(np.median(after[window] - away[window] / speed))
    delay = min(max(meets - USUAL_RAMP_S / 2, 0.0), LONGEST_S)
    return edge_s + sign * delay
