"""Taped lengths that cannot be: the phone and the counts say something else."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ..core.findings import Finding, FindingKind
from ..core.measured import Measured
from ..estimator import tape_doubt
from ..passes.matching import CountedPass

Array = NDArray[np.float64]

MOST_AWAY = 4.0
"""A taped length farther from the track's than so many standard deviations is looked at."""
LEAST_AWAY = 0.03
"""Nearer than this, relative, it is weighed and not judged."""


def credible_tapes(
    taped: Sequence[Measured | None],
    common: Measured | None,
    distance_m: Array,
    covariance_m2: Array,
    counted: Sequence[CountedPass],
) -> tuple[list[Measured | None], Measured | None, tuple[Finding, ...]]:
    """The taped lengths that can be true, by pass and common, and what was left out.

    Where the turns counted side with the tape against the track, it is kept.
    """
    std = np.sqrt(np.diag(covariance_m2))
    turns = np.array([float(np.median([u.turns.value for u in c.counts])) for c in counted])
    level = float(np.median(np.log(distance_m / turns)))
    kept, found = list(taped), []
    for i, length in enumerate(taped):
        if length is None or not _away(length, distance_m[i], std[i]):
            continue
        by_tape, by_track = (
            abs(np.log(d / turns[i]) - level) for d in (length.value, distance_m[i])
        )
        if len(counted) > 2 and by_tape < by_track:
            continue
        kept[i] = None
        found.append(_off((counted[i].number,), length, distance_m[i], std[i]))
    if common is not None:
        mean = float(distance_m.mean())
        std_mean = float(np.sqrt(covariance_m2.sum())) / len(distance_m)
        if _away(common, mean, std_mean):
            found.append(_off(tuple(c.number for c in counted), common, mean, std_mean))
            common = None
    return kept, common, tuple(found)


def _away(taped: Measured, distance_m: float, std_m: float) -> bool:
    away = abs(taped.value - distance_m)
    limit = MOST_AWAY * np.hypot(std_m, tape_doubt(taped).std)
    return bool(away > max(limit, LEAST_AWAY * distance_m))


def _off(passes: tuple[int, ...], taped: Measured, distance_m: float, std_m: float) -> Finding:
    return Finding(
        kind=FindingKind.TAPED_OFF,
        passes=passes,
        written=taped.value,
        expected=(float(distance_m - 2 * std_m), float(distance_m + 2 * std_m)),
    )
