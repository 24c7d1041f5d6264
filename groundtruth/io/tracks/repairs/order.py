"""Repairs of positions, times and fields that every format needs, each counted and reported.

All work in place on `Fixes`.
"""

from __future__ import annotations

import numpy as np

from ....core.language import English, in_a_row
from ..fix_arrays import Fixes
from ..raw_fixes import EARLIEST_S, LATEST_S
from .outliers import FASTEST_M_S
from .swapped_lat_lon import refuse_polar


def repair_positions(fixes: Fixes) -> None:
    """Leave out fixes without a position on Earth; bring other notations to decimal degrees.

    Raises
    ------
    TrackFileError : latitude and longitude are exchanged throughout.
    """
    fixes.drop(
        ~(np.isfinite(fixes.longitude) & np.isfinite(fixes.latitude)),
        English("point without a readable position left out"),
    )
    fixes.drop(
        (fixes.latitude == 0) & (fixes.longitude == 0),
        English("point at 0° N 0° E (no fix) left out"),
    )
    refuse_polar(fixes)
    _from_degrees_and_minutes(fixes)
    high = np.abs(fixes.latitude) > 90
    east = (fixes.longitude > 180) & (fixes.longitude <= 360)
    if east.any() and not high.any():
        fixes.tally.repair(
            English("longitude above 180° brought back by 360°"),
            fixes.first_place(east),
            int(east.sum()),
        )
        fixes.longitude = np.where(east, fixes.longitude - 360, fixes.longitude)
    fixes.drop(
        (np.abs(fixes.latitude) > 90) | (np.abs(fixes.longitude) > 180),
        English("point with a latitude beyond 90° or a longitude beyond 180° left out"),
    )


def _from_degrees_and_minutes(fixes: Fixes) -> None:
    """Positions written as ddmm.mmmm throughout (4842.205 for 48° 42.205'), as NMEA has them."""
    lat, lon = np.abs(fixes.latitude), np.abs(fixes.longitude)
    if not len(fixes) or not ((lat > 90) & ((lat > 360) | (lon > 360))).all():
        return
    if not ((lat % 100 < 60) & (lon % 100 < 60) & (lat < 9000.01) & (lon < 18000.01)).all():
        return
    fixes.tally.repair(
        English("position written as degrees and minutes (ddmm.mmmm) converted"),
        fixes.columns.place(int(fixes.row.min())),
        len(fixes),
    )
    fixes.latitude = np.copysign(lat // 100 + lat % 100 / 60, fixes.latitude)
    fixes.longitude = np.copysign(lon // 100 + lon % 100 / 60, fixes.longitude)


def drop_without_time(fixes: Fixes) -> None:
    """Leave out fixes without a time, or with one that only an unset clock gives.

    Raises
    ------
    TrackFileError : no fix has a time that can be right.
    """
    missing = np.isnan(fixes.time)
    if len(fixes) and missing.all():
        raise fixes.tally.error(
            fixes.columns.untimed
            or "no point carries a time, and without times turns cannot be laid beside the "
            "track; export the recording itself (GPX with times), not a drawn route"
        )
    fixes.drop(missing, English("point without a readable time left out"))
    strange = ~((fixes.time >= EARLIEST_S) & (fixes.time < LATEST_S))
    if len(fixes) > 1 and strange.all():
        raise fixes.error(
            "every time lies before 1980 or after 2100; write times as in 2026-04-01T06:41:07Z, or "
            "as seconds since 1970",
            strange,
        )
    fixes.drop(
        strange,
        English("point dated before 1980 or after 2100 (clock not set) left out"),
    )


def sort_by_time(fixes: Fixes) -> None:
    """Put fixes in order of time and keep the first of those at the same time.

    Raises
    ------
    TrackFileError : a clock set back has laid stretches of the recording over each other.
    """
    if len(fixes) < 2:
        return
    back = np.diff(fixes.time) < 0
    run = np.concatenate(([0], np.cumsum(back)))
    late = fixes.time < np.maximum.accumulate(fixes.time)
    late_place = fixes.first_place(late) if late.any() else 0
    order = np.argsort(fixes.time, kind="stable")
    if late.any():
        fixes.take(order)
        run = run[order]
    same_time = np.concatenate(([False], np.diff(fixes.time) == 0))
    # among several fixes at one instant the first in the file stays
    leader = np.maximum.accumulate(np.where(same_time, 0, np.arange(len(fixes))))
    same_place = (fixes.longitude == fixes.longitude[leader]) & (
        fixes.latitude == fixes.latitude[leader]
    )
    stays = run[~same_time]
    backward = int(back.sum())
    if int((np.diff(stays) != 0).sum()) > 4 * backward + 20:
        raise fixes.tally.error(
            "the clock runs back there, so that points lie over each other in time; split the "
            "file at this point and use one part",
            late_place,
        )
    if late.any():
        fixes.tally.repair(
            English("point out of order put in its place in time"), late_place, int(late.sum())
        )
    if same_time.any():
        for bad, text in (
            (same_time & same_place, English("point recorded twice left out")),
            (same_time & ~same_place, English("second position for the same time left out")),
        ):
            if bad.any():
                fixes.tally.repair(text, fixes.first_place(bad), int(bad.sum()))
        fixes.take(~same_time)


def drop_impossible_values(fixes: Fixes) -> None:
    """Take height, speed, accuracy and HDOP that cannot be right as missing."""
    for name, bad, text in (
        ("speed", fixes.speed < 0, English("speed below 0 taken as missing")),
        ("speed", fixes.speed > 2 * FASTEST_M_S, English("impossible speed taken as missing")),
        ("accuracy", fixes.accuracy <= 0, English("accuracy of 0 or less taken as missing")),
        (
            "hdop",
            (fixes.hdop <= 0) | (fixes.hdop >= 99),
            English("HDOP of 0 or of 99 taken as missing"),
        ),
        ("height", np.abs(fixes.height) > 10_000, English("impossible height taken as missing")),
    ):
        values = getattr(fixes, name)
        bad = bad | np.isinf(values)
        if bad.any():
            fixes.tally.repair(text, fixes.first_place(bad), int(bad.sum()))
            setattr(fixes, name, np.where(bad, np.nan, values))

    if len(fixes) >= 10 and (fixes.height == 0).all():
        fixes.tally.repair(
            English("height of 0 at every point taken as missing"),
            fixes.columns.place(0),
            len(fixes),
        )
        fixes.height = np.full(len(fixes), np.nan)


def report_contents(fixes: Fixes) -> None:
    """Note as a fact how many fixes there are, and which fields they have."""
    count = len(fixes)
    held: list[str] = []
    for label, values in (
        (English("height"), fixes.height),
        (English("speed"), fixes.speed),
        (English("accuracy"), fixes.accuracy),
        ("HDOP", fixes.hdop),
    ):
        number = int(np.isfinite(values).sum())
        if number:
            part = English("{field} at {count}", field=label, count=number)
            held.append(label if number == count else part)
    size = {
        "fixes": English.counted(count, "{count} fix", "{count} fixes"),
        "segments": English.counted(
            len(np.unique(fixes.segment)), "{count} segment", "{count} segments"
        ),
    }
    fixes.tally.fact(
        English(
            "holds {fixes} in {segments}, each with time and position; also {fields}",
            **size,
            fields=in_a_row(held),
        )
        if held
        else English(
            "holds {fixes} in {segments}, each with time and position; no height, speed or "
            "accuracy",
            **size,
        )
    )
