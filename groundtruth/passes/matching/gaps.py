"""Passes whose beginning or end the track did not see, since the signal was lost there."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ...core.findings import Finding, FindingKind
from .types import CountedEnd, CountedPass

UNSEEN_S = 5.0
"""Farther than this from every fix nobody knows where a mark was: the tractor may have driven on
or stood, s."""


def doubted_if_unseen(
    counted: CountedPass, time_s: NDArray[np.float64], fixes: slice
) -> CountedPass:
    """The pass, doubted where the fixes break off at one of its marks or leave a gap there.

    ``time_s`` (n,) are the fixes of the track, ``fixes`` those of the pass. A mark that the turn
    sheet gives needs a fix near by; an end found on the move must not be where a gap begins.
    """
    inside = time_s[fixes]
    if counted.doubt or counted.wheel is not None or len(inside) < 2:
        return counted
    usual_s = float(np.median(np.diff(inside)))
    ends: tuple[Literal["start", "end"], ...] = ("start", "end")
    for end, mark in zip(ends, (counted.start, counted.end), strict=True):
        lost = _lost(mark, time_s, inside, usual_s)
        if lost is not None:
            doubt = Finding(
                kind=FindingKind.END_UNSEEN,
                passes=(counted.number,),
                end=end,
                from_s=lost[0],
                until_s=lost[1],
            )
            return replace(counted, doubt=doubt)
    return counted


def _lost(
    mark: CountedEnd, time_s: NDArray[np.float64], inside: NDArray[np.float64], usual_s: float
) -> tuple[float, float] | None:
    """The time without a fix in which a mark lies, from and until; None where it was seen."""
    if mark.found == "stopped":
        return None
    if mark.found == "turn sheet":
        away_s = float(np.abs(time_s - mark.time_s).min())
        if away_s <= max(UNSEEN_S, 1.5 * usual_s):
            return None
        before, after = time_s[time_s < mark.time_s], time_s[time_s > mark.time_s]
        return (
            float(before[-1]) if len(before) else float(time_s[0]),
            float(after[0]) if len(after) else float(time_s[-1]),
        )
    gap = np.flatnonzero(np.diff(time_s) > max(2 * UNSEEN_S, 3 * usual_s))
    for begin, until in zip(time_s[gap], time_s[gap + 1], strict=True):
        if begin - UNSEEN_S <= mark.time_s <= until + UNSEEN_S:
            return float(begin), float(until)
    return None
