"""Recorders that write a fix only after some movement: where they are silent the tractor stands."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ....core.language import English
from ....core.notices import Notice
from ....core.track import Track
from ..fix_arrays import steps_m

Array = NDArray[np.float64]

LEAST_FIXES = 40
"""Fewer fixes do not show how a recorder chooses them."""
LEAST_STEP_M = 0.7
"""Shorter steps are those of a recorder that writes by the clock, at sowing speeds."""
ALIKE = 1.9
"""Most steps are at most so many times the shortest ones: as long as the recorder waits for, and
the way of up to a second."""
SLOWEST_M_S, FASTEST_M_S = 0.2, 3.0
"""Speeds of sowing; the drive to the field is faster."""
SILENT_S = 2.0
"""A silence lasts this much longer than half as long again as a step takes under way."""
LEAST_SILENCES = 3
"""With fewer the recorder has not shown what its silence means."""
BEYOND = 0.38
"""Where the tractor stood, in steps beyond the last fix: less than half a step, since the error of
the position carries it over the threshold (seen on simulated days, seeds 600100 to 600139)."""
LINGERED, BY_ERROR_M = 3.0, 4.0
"""A last step that took so many times the usual one, and is shorter than this, was made by the
error in standing: then the tractor stood where the last fix is (seen on the same days)."""


def with_silences_filled(track: Track) -> Track:
    """The track with fixes of standing where a recorder that waits for movement was silent.

    Such a recorder shows itself by steps that are all about as long, however long it waited for
    them: the place after a silence is a step away. A lost signal shows otherwise, since the tractor
    drives on. The tractor stood a part of a step beyond the last fix; the track says by
    ``written_every_m`` how long a step is. Any other track comes back as it is.
    """
    found = _silences(track)
    if found is None:
        return track
    step_m, speed_m_s, silent = found
    usual_s = step_m / speed_m_s
    rows = [(0, float(track.time_s[0]), 0.0)]  # of each fix: which one it comes from, when, beyond
    for i in range(1, len(track)):
        if silent[i - 1]:
            begin_s = float(track.time_s[i - 1]) + usual_s / 2
            lasts_s = float(track.time_s[i]) - usual_s / 2 - begin_s
            count = max(2, int(lasts_s / usual_s))
            beyond = BEYOND
            if i > 1 and step_m < BY_ERROR_M:
                beyond *= track.time_s[i - 1] - track.time_s[i - 2] < LINGERED * usual_s
            # not the same place twice: a repeated fix is no observation
            rows += [
                (i - 1, begin_s + lasts_s * k / (count - 1), beyond + 0.001 * (1 + k % 2))
                for k in range(count)
            ]
        rows.append((i, float(track.time_s[i]), 0.0))
    index = np.array([row[0] for row in rows])
    time_s, shift = (np.array([row[k] for row in rows]) for k in (1, 2))
    before = np.maximum(index - 1, 0)
    count = len(time_s) - len(track)
    notice = Notice(
        kind="repair",
        text=English(
            "the recorder wrote a fix only after some {step:.0f} m of movement: where it was "
            "silent the tractor is taken to have stood; a fix every second, without a filter, "
            "tells the ends better",
            step=step_m,
        ),
        count=int(silent.sum()),
        where=track.called,
    )

    def placed(values: Array) -> Array:
        return np.asarray(values[index] + shift * (values[index] - values[before]))

    return track.taken(
        index,
        time_s=time_s,
        longitude_deg=placed(track.longitude_deg),
        latitude_deg=placed(track.latitude_deg),
        speed_m_s=np.where(shift > 0, 0.0, 1.0) * track.speed_m_s[index],
        written_every_m=step_m,
        notices=(*track.notices, notice) if count else track.notices,
    )


def _silences(track: Track) -> tuple[float, float, NDArray[np.bool_]] | None:
    """Step of the recorder in m, usual speed in m/s, and after which fixes it was silent."""
    if len(track) < LEAST_FIXES:
        return None
    step = steps_m(track.longitude_deg, track.latitude_deg, np.s_[:-1], np.s_[1:])
    took = np.diff(track.time_s)
    shortest, middle = np.quantile(step, [0.03, 0.5]).tolist()
    if shortest < LEAST_STEP_M or middle > ALIKE * shortest:
        return None
    pace = step / took
    at_work = pace[(pace > SLOWEST_M_S) & (pace < FASTEST_M_S)]
    if len(at_work) < LEAST_FIXES / 2:
        return None
    speed = float(np.median(at_work))
    silent = (took > 1.5 * step / speed + SILENT_S) & (step < 2 * ALIKE * shortest)
    if silent.sum() < LEAST_SILENCES:
        return None
    return shortest, speed, silent
