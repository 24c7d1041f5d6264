"""Positions that leap away and back faster than any tractor, and tracks that jump for good."""

from __future__ import annotations

import numpy as np

from ....core.language import English
from ..fix_arrays import Fixes, Index, Rows, steps_m

FASTEST_M_S = 60.0
"""No tractor, van or lorry that carries the phone is faster (216 km/h)."""
SHORTEST_LEAP_M = 20.0
"""Shorter jumps are the noise of a phone that records several fixes a second."""
LEAP_POINTS = 30
"""At most so many points in a row are taken for one leap."""
LEAP_SHARE = 0.1
"""Above this share of leaping points the file is refused rather than repaired."""


def drop_outliers(fixes: Fixes) -> None:
    """Take out short runs of fixes that no vehicle could have reached and left again."""
    count = len(fixes)
    if count < 3:
        return
    time, lon, lat = fixes.time, fixes.longitude, fixes.latitude

    def impossible(a: Index, b: Index) -> Rows:
        far = steps_m(lon, lat, a, b)
        gap = time[b] - time[a]
        return np.asarray((far > SHORTEST_LEAP_M) & (far > FASTEST_M_S * gap))

    edges = np.flatnonzero(impossible(np.s_[:-1], np.s_[1:]))
    if not len(edges):
        return
    bad = np.zeros(count, dtype=bool)
    last_good = 0
    remaining = 0
    first_jump: int | None = None
    position = 0
    while position < len(edges):
        edge = int(edges[position])
        position += 1
        if edge < last_good:
            continue
        # where is the track again within reach of the fix before the leap?
        reach = np.arange(edge + 2, min(edge + 2 + LEAP_POINTS, count))
        back = reach[~impossible(np.full(len(reach), edge), reach)]
        if len(back):
            bad[edge + 1 : back[0]] = True
            last_good = int(back[0])
        elif edge < 3 and not bad[: edge + 1].any() and count > 10:
            bad[: edge + 1] = True  # a stale first fix, from where the phone was last used
        elif edge + 2 >= count:
            bad[edge + 1 :] = True
        else:
            remaining += 1
            first_jump = edge + 1 if first_jump is None else first_jump
    if bad.sum() + remaining > max(LEAP_SHARE * count, 3):
        raise fixes.error(
            f"positions or times jump about faster than {FASTEST_M_S:.0f} m/s at "
            f"{int(bad.sum()) + remaining} of {count} points; this is no usable track",
            bad | (np.arange(count) == first_jump),
        )
    if first_jump is not None:
        here = np.arange(count) == first_jump
        fixes.tally.warn(
            English(
                "the track jumps faster than {speed:.0f} m/s and does not come back",
                speed=FASTEST_M_S,
            ),
            fixes.first_place(here),
            remaining,
        )
    fixes.drop(
        bad,
        English(
            "leaping point (faster than {speed:.0f} m/s there and back) left out", speed=FASTEST_M_S
        ),
    )
