"""How the doubt about where passes begin and end adds up over the passes of a day."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

HABIT_STD_M, HABIT_SHARE = 1.0, 0.4
"""How far a driver lines up before lowering the seeder, and drives on after lifting it, is a habit,
and what a rough phone makes of it is much the same at both ends: so much of the doubt about a
rolling end, or this share of it where that is more, is the same at all ends of a day. On errors of
real phones the ends of different passes of a day err outwards together, with a covariance of 1.9 m²
between starts, 2.5 m² between ends and 3.0 m² between a start and an end, at a doubt of 4.1 m."""


def end_covariance(place_std_m: Array, rolling: NDArray[np.bool_]) -> Array:
    """Covariance of the ground covered through the places of the ends. (passes, passes) [m²]

    ``place_std_m`` (passes, 2) is the doubt about the start and the end of each pass, ``rolling``
    (passes, 2) tells which of them were found in a track that rolled on. All rolling ends share a
    part of their error outwards; no pass is thereby in more doubt than its two ends are.
    """
    habit = np.minimum(place_std_m / np.sqrt(2), HABIT_STD_M)
    common = np.where(rolling, np.maximum(habit, HABIT_SHARE * place_std_m), 0.0).sum(axis=1)
    own = (place_std_m**2).sum(axis=1) - common**2
    return np.asarray(np.diag(own) + np.outer(common, common))
