"""Recorders whose clock was set on the way: first points dated otherwise, and jumps told of."""

from __future__ import annotations

import numpy as np

from ....core.language import English
from ..fix_arrays import Fixes, steps_m

BACK_S = 60.0
"""Points that run back by less are late ones, and are put in order."""
AHEAD_S = 12 * 3600.0
"""Shorter gaps are pauses."""
ANYWHERE_S = 30 * 86_400.0
"""Nobody records on for longer than that within one stretch, whatever the place."""
SAME_PLACE_M = 20.0
_YEAR_S = 86400 * 365.25
FIRST_POINTS, FIRST_SHARE = 60, 0.1
"""Up to so many points before the clock was set are left out; more are only told of."""


def check_clock_jumps(fixes: Fixes) -> None:
    """Leave out a few first points that the recorder dated by another clock; tell of other jumps.

    Looked at are steps within one stretch of the recording, in the order of the file: back by a
    minute or more, or ahead by 12 hours or more with the next point still at the same place, or
    by more than 30 days.
    """
    jumps = _jumps(fixes)
    if len(jumps):
        before = int(jumps[0])
        if (
            before <= min(FIRST_POINTS, FIRST_SHARE * len(fixes))
            and abs(fixes.time[before] - fixes.time[before - 1]) > AHEAD_S
            and _continues(fixes, jumps[:1])[0]
        ):
            fixes.drop(
                np.arange(len(fixes)) < before,
                English("point dated before the recorder's clock was set left out"),
            )
            jumps = jumps[1:] - before
    steps = fixes.time[jumps] - fixes.time[jumps - 1]
    for chosen, said in ((steps < 0, _back), (steps > 0, _ahead)):
        if chosen.any():
            fixes.tally.warn(
                said(_duration(float(abs(steps[chosen][0])))),
                fixes.columns.place(int(fixes.row[jumps[chosen][0]])),
                int(chosen.sum()),
            )


def _jumps(fixes: Fixes) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    """Indices of the fixes right behind a jump."""
    step = np.diff(fixes.time)
    candidates = np.flatnonzero(
        (np.diff(fixes.segment) == 0) & ((step <= -BACK_S) | (step >= AHEAD_S))
    )
    behind = candidates + 1
    return behind[(step[candidates] < 0) | _continues(fixes, behind)]


def _continues(
    fixes: Fixes, behind: np.ndarray[tuple[int], np.dtype[np.int64]]
) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Whether the recording went on behind each jump, so that only the clock has jumped."""
    stays = steps_m(fixes.longitude, fixes.latitude, behind - 1, behind) < SAME_PLACE_M
    return stays | (np.abs(fixes.time[behind] - fixes.time[behind - 1]) > ANYWHERE_S)


def _duration(seconds: float) -> str:
    if seconds >= 2 * _YEAR_S:
        return English("{years:.1f} years", years=seconds / _YEAR_S)
    if seconds >= 2 * 86400:
        return English("{days:.1f} days", days=seconds / 86400)
    if seconds >= 2 * 3600:
        return English("{hours:.1f} h", hours=seconds / 3600)
    return f"{seconds / 60:.0f} min"


def _back(time: str) -> English:
    return English(
        "the clock runs back by {time} there; if it was set, split the file at this point and use "
        "one part",
        time=time,
    )


def _ahead(time: str) -> English:
    return English(
        "the clock jumps ahead by {time} there; if it was set, split the file at this point and "
        "use one part",
        time=time,
    )
