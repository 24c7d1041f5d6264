"""A running counter typed into a sheet of counts per pass: told, and taken apart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ...core.findings import Finding, FindingKind
from ...core.turns import TurnCount
from .. import Pass
from .sheet_rows import SheetRow

Array = NDArray[np.float64]

LEAST_ROWS = 4
LEAST_RISE = 2.0
"""A counter that ran on reads at least so many times more at the end than at the beginning."""
MOST_SCATTER, LEAST_SCATTER = 0.35, 0.2
"""Steps per metre scatter so little against the readings per metre, which scatter so much."""
FROM_ZERO = 0.25
"""The first reading is the first count where it lies this close to the usual step, relative."""


def apart(
    rows: Sequence[SheetRow], passes: Sequence[Pass]
) -> tuple[tuple[SheetRow, ...], tuple[Finding, ...]]:
    """The rows as counts per pass, and what was found: that they were readings of a counter."""
    if not _ran_on(rows, passes):
        return tuple(rows), ()
    before: dict[str, float] = {}
    usual = _usual_steps(rows)
    counted = []
    for row in rows:
        kept: list[TurnCount] = []
        for c in row.counts:
            from_zero = abs(c.turns / usual.get(c.unit, np.nan) - 1) < FROM_ZERO
            start = before.get(c.unit, 0.0 if from_zero else np.nan)
            before[c.unit] = c.turns
            if c.turns > start:
                kept.append(replace(c, turns=c.turns - start))
        if kept:
            counted.append(replace(row, counts=tuple(kept)))
    numbers = tuple(row.number for row in rows)
    return tuple(counted), (Finding(kind=FindingKind.RUNNING_COUNTER, passes=numbers),)


def _by_unit(rows: Sequence[SheetRow]) -> dict[str, Array]:
    units = dict.fromkeys(c.unit for row in rows for c in row.counts)
    return {
        unit: np.array([c.turns for row in rows for c in row.counts if c.unit == unit])
        for unit in units
    }


def _usual_steps(rows: Sequence[SheetRow]) -> dict[str, float]:
    return {u: float(np.median(np.diff(t))) for u, t in _by_unit(rows).items() if len(t) > 1}


def _ran_on(rows: Sequence[SheetRow], passes: Sequence[Pass]) -> bool:
    """Whether the counts rise from row to row by what a pass needs, for most of the units."""
    if len(rows) < LEAST_ROWS or not passes:
        return False
    length = np.array([p.length_m for p in passes])
    votes = []
    for turns in _by_unit(rows).values():
        if len(turns) < LEAST_ROWS:
            continue
        steps = np.diff(turns)
        rises = np.median(turns[-2:]) > LEAST_RISE * np.median(turns[:2])
        if np.mean(steps > 0) < 0.8 or not rises:
            votes.append(False)
            continue
        whole = length if len(length) == len(turns) else np.full(len(turns), np.median(length))
        rising = steps > 0
        of_steps = _scatter(np.log(steps[rising] / whole[1:][rising]))
        of_counts = _scatter(np.log(turns / whole))
        votes.append(of_counts > LEAST_SCATTER and of_steps < MOST_SCATTER * of_counts)
    return bool(votes) and float(np.mean(votes)) > 0.5


def _scatter(values: Array) -> float:
    """Robust standard deviation: 1.4826 times the median distance from the median."""
    return float(1.4826 * np.median(np.abs(values - np.median(values))))
