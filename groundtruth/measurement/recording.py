"""What is kept of a run beside its figures, for those who compare many runs."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..core.language import English
from ..core.notices import Notice
from ..core.recording import MOST_CORRELATED, DistanceErrors, Recording
from ..core.track import Track
from ..estimator import DayTravel
from ..passes.matching import CountedPass
from .ground_covered import Ground, fixes_of


def recording_of(track: Track, counted: Sequence[CountedPass], travel: DayTravel) -> Recording:
    """How well the measured passes were recorded."""
    parts = (fixes_of(track, c) for c in counted)
    return Recording(
        receiver="phone" if travel.evidence is None else "centimetre",
        doppler=travel.doppler,
        fixes=sum(part.stop - part.start for part in parts),
        fixes_set_aside=sum(travel.set_aside),
        noise=tuple(travel.noise.items()),
    )


def distance_errors(
    numbers: Sequence[int], which: Sequence[int], ground: Ground
) -> tuple[DistanceErrors, tuple[Notice, ...]]:
    """Uncertainties and correlations of the distances that were pooled, and what to say of them.

    ``numbers`` are those of all measured passes, ``which`` the places of the pooled ones in it.
    Correlations are rounded to a millionth, far below what they are known to.
    """
    pooled = sorted(set(which))
    total = sum(ground.covariance_m2.values(), start=np.zeros(()))[np.ix_(pooled, pooled)]
    std_m = np.sqrt(np.diag(total))
    many = len(pooled) > MOST_CORRELATED
    correlations = None
    if not many:
        scale = np.outer(std_m, std_m)
        matrix = np.divide(total, scale, out=np.zeros_like(total), where=scale > 0)
        below = np.clip(matrix[np.tril_indices(len(pooled), -1)], -1, 1)
        correlations = tuple(np.round(below, 6).tolist())
    errors = DistanceErrors(
        passes=tuple(numbers[i] for i in pooled),
        std_m=tuple(std_m.tolist()),
        correlations=correlations,
    )
    said = English(
        "correlations between more than {most} passes are not kept in result.json",
        most=MOST_CORRELATED,
    )
    return errors, (Notice(kind="fact", text=said),) if many else ()
