"""Which row of the sheet belongs to which pass: the most probable alignment of the two orders.

Rows and passes are two sequences in order of time. A row belongs to one pass or to none (not
recorded, or not found), a pass to one row or to none (not written down). The best alignment is
found by dynamic programming (Needleman & Wunsch 1970, J. Mol. Biol. 48:443, from memory); scores
are logarithms of odds against "these two have nothing to do with each other".
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from .. import Pass
from .sheet_rows import SheetRow

Array = NDArray[np.float64]

SKIP = 3.0
"""Log odds against a pass that was not written down, or a row whose pass is not in the track."""
SKIP_ON = 0.5
"""The same for each further one in a row at the beginning or the end of the day."""
NO_TIME_FITS = 8.0
"""Log odds against a row both of whose instants lie somewhere else than the pass."""
ALIKE_STD, LENGTH_STD_M = 0.03, 2.0
"""Counts per metre are alike but for slip; lengths as found are good to this much."""
COUNT_ASTRAY = 0.05
LOG_RANGE = 6.0
"""Turns per metre that have nothing to do with the pass are even over this range of logarithms."""


def count_scores(rows: Sequence[SheetRow], passes: Sequence[Pass]) -> Array:
    """Log odds of each row's turns on each pass, by turns per metre alike. (rows, passes)"""
    turns, length = _log_turns(rows), np.log([p.length_m for p in passes])
    std = np.hypot(ALIKE_STD, LENGTH_STD_M / np.exp(length))
    level = float(np.median(turns) - np.median(length))
    scores = np.zeros((len(rows), len(passes)))
    for _ in range(3):
        away = turns[:, None] - length - level
        density = np.exp(-0.5 * (away / std) ** 2) / (std * np.sqrt(2 * np.pi))
        scores = np.log((1 - COUNT_ASTRAY) * density * LOG_RANGE + COUNT_ASTRAY)
        near = np.abs(away) < 3 * std
        if near.any():
            level += float(np.median(away[near]))
    return scores


def _log_turns(rows: Sequence[SheetRow]) -> Array:
    """Median over the units of the log turns of each row, differences between units taken out."""
    units = sorted({c.unit for row in rows for c in row.counts})
    logs = np.full((len(rows), len(units)), np.nan)
    for i, row in enumerate(rows):
        for c in row.counts:
            logs[i, units.index(c.unit)] = np.log(c.turns)
    between = np.nanmedian(logs, axis=0)
    return np.asarray(np.nanmedian(logs - between + np.mean(between), axis=1))


def assign(
    score: Array, passes: Sequence[Pass], doubled: Sequence[bool] | None = None
) -> list[int | None]:
    """For each row the pass that it belongs to, None for none. ``score`` is (rows, passes).

    ``doubled`` (rows,) says which rows repeat the one before.
    """
    rows, found = score.shape
    cut_first = bool(passes) and passes[0].start.found == "track ends"
    cut_last = bool(passes) and passes[-1].end.found == "track ends"
    total = np.zeros((rows + 1, found + 1))
    came = np.zeros((rows + 1, found + 1), dtype=int)  # 0 together, 1 row alone, 2 pass alone
    for i in range(rows + 1):
        for j in range(found + 1):
            if i == 0 and j == 0:
                continue
            ways = [-np.inf, -np.inf, -np.inf]
            if i and j:
                ways[0] = total[i - 1, j - 1] + score[i - 1, j - 1]
            if i:
                at_edge = (j == 0, j == found)
                cost = _cost(came[i - 1, j] == 1 or i == 1, at_edge, (cut_first, cut_last), i > 1)
                again = doubled is not None and doubled[i - 1]
                ways[1] = total[i - 1, j] - (SKIP_ON if again else cost)
            if j:
                at_edge = (i == 0, i == rows)
                cost = _cost(came[i, j - 1] == 2 or j == 1, at_edge, (False, False), j > 1)
                ways[2] = total[i, j - 1] - cost
            came[i, j] = int(np.argmax(ways))
            total[i, j] = max(ways)
    belongs: list[int | None] = [None] * rows
    i, j = rows, found
    while i or j:
        if came[i, j] == 0:
            i, j = i - 1, j - 1
            belongs[i] = j
        elif came[i, j] == 1:
            i -= 1
        else:
            j -= 1
    return belongs


def _cost(
    goes_on: bool, at_edge: tuple[bool, bool], cut: tuple[bool, bool], further: bool
) -> float:
    """What it costs to leave one alone, less at the day's beginning and end."""
    if any(edge and known for edge, known in zip(at_edge, cut, strict=True)):
        return SKIP_ON
    return SKIP_ON if any(at_edge) and goes_on and further else SKIP
