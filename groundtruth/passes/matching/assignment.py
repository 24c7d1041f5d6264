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

    There is a row and a pass at least. ``doubled`` (rows,) says which rows repeat the one before.
    To leave one alone costs less at the day's beginning and end.
    """
    rows, found = score.shape
    edge_row, edge_pass = np.zeros(rows + 1, dtype=bool), np.zeros(found + 1, dtype=bool)
    edge_row[[0, -1]] = edge_pass[[0, -1]] = True
    cut = np.zeros(found + 1, dtype=bool)
    cut[[0, -1]] = passes[0].start.found == "track ends", passes[-1].end.found == "track ends"
    again = np.array([False, *(doubled if doubled is not None else [False] * rows)])
    total = np.zeros((rows + 1, found + 1))
    came = np.zeros((rows + 1, found + 1), dtype=int)  # 0 together, 1 row alone, 2 pass alone
    for diagonal in range(1, rows + found + 1):  # of which no cell depends on another
        i = np.arange(max(0, diagonal - found), min(rows, diagonal) + 1)
        j = diagonal - i
        row_on = edge_pass[j] & (i > 1) & (came[i - 1, j] == 1)
        pass_on = edge_row[i] & (j > 1) & (came[i, j - 1] == 2)
        ways = np.array(
            [
                total[i - 1, j - 1] + score[i - 1, j - 1],
                total[i - 1, j] - np.where(again[i] | cut[j] | row_on, SKIP_ON, SKIP),
                total[i, j - 1] - np.where(pass_on, SKIP_ON, SKIP),
            ]
        )
        ways[:2, i == 0] = ways[::2, j == 0] = -np.inf
        came[i, j] = ways.argmax(axis=0)
        total[i, j] = ways.max(axis=0)
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
