"""Columns as read to a `Track`: the repairs that all formats share, each counted and reported.

The order is: points without position or time are left out, then points are put in order of time,
doubled points are dropped, positions that leap are taken out, and fields are looked at last.
"""

from __future__ import annotations

import numpy as np

from ...core.language import English
from ...core.track import InputFile, Track
from .fix_arrays import Fixes
from .raw_fixes import FixColumns
from .repairs.clock_jumps import check_clock_jumps
from .repairs.order import (
    drop_impossible_values,
    drop_without_time,
    repair_positions,
    report_contents,
    sort_by_time,
)
from .repairs.outliers import drop_outliers
from .repairs.silences import with_silences_filled
from .repairs.speed_unit import check_speed_unit


def assemble(columns: FixColumns, inputs: tuple[InputFile, ...] = ()) -> Track:
    """The usable fixes of one file in order of time, with a notice for each kind of repair.

    Raises
    ------
    TrackFileError : no points, no times, or damage of which nobody can say what was meant.
    """
    fixes = Fixes(columns)
    if not len(fixes):
        raise columns.tally.error(columns.nothing or "holds no track points")
    repair_positions(fixes)
    drop_without_time(fixes)
    check_clock_jumps(fixes)
    sort_by_time(fixes)
    drop_outliers(fixes)
    drop_impossible_values(fixes)
    check_speed_unit(fixes)
    if len(fixes) < 2:
        kept = "no usable point" if not len(fixes) else "only one usable point"
        raise columns.tally.error(f"{kept}; a track needs two or more{columns.tally.left_out()}")
    if len(fixes) < len(columns) / 2:
        columns.tally.warn(
            English(
                "only {used} of {count} points can be used; check the recording",
                used=len(fixes),
                count=len(columns),
            )
        )
    report_contents(fixes)
    track = Track(
        time_s=fixes.time,
        longitude_deg=fixes.longitude,
        latitude_deg=fixes.latitude,
        height_m=fixes.height,
        speed_m_s=fixes.speed,
        accuracy_m=fixes.accuracy,
        hdop=fixes.hdop,
        fix_quality=fixes.fix_quality,
        segment=np.unique(fixes.segment, return_inverse=True)[1],
        name=columns.track_name,
        inputs=inputs,
        waypoints=tuple(columns.waypoints),
        notices=columns.tally.notices(),
    )
    return with_silences_filled(track)
