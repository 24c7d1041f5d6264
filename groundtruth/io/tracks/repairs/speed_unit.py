"""Reported speeds that are plainly in another unit than m/s, told by the positions beside them."""

from __future__ import annotations

import numpy as np

from ....core.language import English
from ....core.units import KM_PER_HOUR, KNOT, MILE_PER_HOUR
from ..fix_arrays import Fixes, steps_m
from .swapped_lat_lon import refuse_by_speed

WINDOW_S = 20.0
MOVING_M_S = 0.5
WINDOWS = 15
"""Fewer windows of movement than this do not tell a unit."""
WITHIN = 0.07
"""Ratios this near to a unit's are taken for it; km/h, mph and knots lie 14 % apart and more."""
_UNITS = (
    ("km/h", 1 / KM_PER_HOUR.value),
    ("mph", 1 / MILE_PER_HOUR.value),
    (English("knots"), 1 / KNOT.value),
)


def check_speed_unit(fixes: Fixes) -> None:
    """Convert speeds to m/s where they are 3.6, 2.24 or 1.94 times those of the positions.

    The straight distance over windows of 20 s against the mean speed in them; the median over the
    windows in which the track moves straight on. Any other ratio is left as it is.

    Raises
    ------
    TrackFileError : the speeds fit only with latitude and longitude exchanged.
    """
    if len(fixes) < 2 * WINDOWS or not np.isfinite(fixes.speed).any():
        return
    starts = (
        np.searchsorted(fixes.time, np.arange(fixes.time[0], fixes.time[-1] - WINDOW_S, WINDOW_S))
        if fixes.time[-1] - fixes.time[0] < 30 * 86400
        else np.arange(0, len(fixes) - 20, 20)
    )
    starts = np.unique(starts)
    first, last = starts[:-1], starts[1:]
    gap = fixes.time[last] - fixes.time[first]
    far = steps_m(fixes.longitude, fixes.latitude, first, last)
    middle = (first + last) // 2
    halves = steps_m(fixes.longitude, fixes.latitude, first, middle) + steps_m(
        fixes.longitude, fixes.latitude, middle, last
    )
    sums = np.concatenate(([0.0], np.cumsum(np.nan_to_num(fixes.speed))))
    counts = np.concatenate(([0], np.cumsum(np.isfinite(fixes.speed))))
    count = counts[last] - counts[first]
    use = (
        (gap < 1.5 * WINDOW_S)
        & (far > MOVING_M_S * gap)
        & (halves < 1.02 * far)
        & (count == last - first)
    )
    if use.sum() < WINDOWS:
        return
    reported = (sums[last] - sums[first])[use] / count[use]
    ratios = reported / (far[use] / gap[use])
    ratio = float(np.median(ratios))
    for name, factor in _UNITS:
        if abs(ratio / factor - 1) < WITHIN:
            fixes.tally.repair(
                English(
                    "speed read as {unit}, as it is {factor:.2f} times that of the positions",
                    unit=name,
                    factor=factor,
                ),
                fixes.first_place(np.isfinite(fixes.speed)),
                int(np.isfinite(fixes.speed).sum()),
            )
            fixes.speed = fixes.speed / factor
            return
    exchanged = steps_m(fixes.latitude, fixes.longitude, first, last)[use]
    if (reported > 0).all() and (exchanged > 0).all() and (np.abs(fixes.longitude) < 90).all():
        refuse_by_speed(fixes, ratios, reported / (exchanged / gap[use]))
