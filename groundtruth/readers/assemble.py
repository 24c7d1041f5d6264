"""Columns as read to a `Track`: the repairs that all formats share, each counted and reported.

The order is: points without position or time are left out, then the clock is looked at, points
are put in order of time, doubled points are dropped, and positions that leap are taken out.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ..errors import TrackFileError
from ..track import InputFile, Track
from .columns import EARLIEST_S, LATEST_S, Columns

Array = NDArray[np.float64]
Rows = NDArray[np.bool_]
Index = slice | NDArray[np.int64]

FASTEST_M_S = 60.0
"""No tractor, van or lorry that carries the phone is faster (216 km/h)."""
SHORTEST_LEAP_M = 20.0
"""Shorter jumps are the noise of a phone that records several fixes a second."""
LEAP_POINTS = 30
"""At most so many points in a row are taken for one leap."""
LEAP_SHARE = 0.1
"""Above this share of leaping points the file is refused rather than mended."""


def assemble(columns: Columns, inputs: tuple[InputFile, ...] = ()) -> Track:
    """The usable fixes of one file in order of time, with a notice for each kind of repair.

    Raises
    ------
    TrackFileError : no points, no times, or damage of which nobody can say what was meant.
    """
    fixes = _Fixes(columns)
    if not len(fixes):
        raise TrackFileError(f"{columns.tally.name}: {columns.nothing or 'holds no track points'}")
    _drop_unplaced(fixes)
    _drop_untimed(fixes)
    _order(fixes)
    _drop_leaps(fixes)
    _tidy_fields(fixes)
    name = columns.tally.name
    if len(fixes) < 2:
        kept = "no usable point" if not len(fixes) else "only one usable point"
        raise TrackFileError(f"{name}: {kept}; a track needs two or more")
    _describe(fixes)
    return Track(
        time_s=fixes.time,
        longitude_deg=fixes.longitude,
        latitude_deg=fixes.latitude,
        height_m=fixes.height,
        speed_m_s=fixes.speed,
        accuracy_m=fixes.accuracy,
        hdop=fixes.hdop,
        segment=np.unique(fixes.segment, return_inverse=True)[1],
        name=columns.track_name,
        inputs=inputs,
        marks=tuple(columns.marks),
        notices=columns.tally.notices(),
    )


class _Fixes:
    """The columns as arrays, thinned step by step; ``row`` keeps each fix's row in the file."""

    __slots__ = (
        "accuracy",
        "columns",
        "hdop",
        "height",
        "latitude",
        "longitude",
        "row",
        "segment",
        "speed",
        "tally",
        "time",
    )
    _DATA = ("time", "longitude", "latitude", "height", "speed", "accuracy", "hdop", "segment")

    def __init__(self, columns: Columns) -> None:
        self.columns, self.tally = columns, columns.tally
        self.time: Array = np.frombuffer(columns.time_s)
        self.longitude: Array = np.frombuffer(columns.longitude_deg)
        self.latitude: Array = np.frombuffer(columns.latitude_deg)
        self.height: Array = np.frombuffer(columns.height_m)
        self.speed: Array = np.frombuffer(columns.speed_m_s)
        self.accuracy: Array = np.frombuffer(columns.accuracy_m)
        self.hdop: Array = np.frombuffer(columns.hdop)
        self.row: NDArray[np.int64] = np.arange(len(self.time))
        starts = np.array(columns.segment_starts, dtype=np.int64)
        self.segment: NDArray[np.int64] = np.searchsorted(starts, self.row, side="right")

    def __len__(self) -> int:
        return len(self.time)

    def take(self, keep: Rows | NDArray[np.int64]) -> None:
        for name in (*self._DATA, "row"):
            setattr(self, name, getattr(self, name)[keep])

    def drop(self, bad: Rows, text: str) -> None:
        """Leave out fixes, and say so with the place of the first of them in the file."""
        if bad.any():
            self.tally.repair(text, self.first_place(bad), int(bad.sum()))
            self.take(~bad)

    def first_place(self, chosen: Rows) -> int:
        return self.columns.place(int(self.row[chosen].min()))

    def where(self, chosen: Rows) -> str:
        return self.tally.where(self.first_place(chosen))


def _drop_unplaced(fixes: _Fixes) -> None:
    fixes.drop(
        np.isnan(fixes.longitude) | np.isnan(fixes.latitude),
        "point without a readable position left out",
    )
    high = np.abs(fixes.latitude) > 90
    if len(fixes) and high.all() and (np.abs(fixes.longitude) <= 90).all():
        raise TrackFileError(
            f"{fixes.where(high)}: every latitude is beyond 90°; latitude and longitude look "
            "swapped: exchange the two columns"
        )
    east = (fixes.longitude > 180) & (fixes.longitude <= 360)
    if east.any() and not high.any():
        fixes.tally.repair(
            "longitude above 180° brought back by 360°", fixes.first_place(east), int(east.sum())
        )
        fixes.longitude = np.where(east, fixes.longitude - 360, fixes.longitude)
    fixes.drop(
        (np.abs(fixes.latitude) > 90) | (np.abs(fixes.longitude) > 180),
        "point with a latitude beyond 90° or a longitude beyond 180° left out",
    )
    fixes.drop(
        (fixes.latitude == 0) & (fixes.longitude == 0), "point at 0° N 0° E (no fix) left out"
    )


def _drop_untimed(fixes: _Fixes) -> None:
    missing = np.isnan(fixes.time)
    if len(fixes) and missing.all():
        raise TrackFileError(
            f"{fixes.tally.name}: "
            + (
                fixes.columns.untimed
                or "no point carries a time, and without times turns cannot be laid beside the "
                "track; export the recording itself (GPX with times), not a drawn route"
            )
        )
    fixes.drop(missing, "point without a readable time left out")
    fixes.drop(
        ~((fixes.time >= EARLIEST_S) & (fixes.time < LATEST_S)),
        "point dated before 1980 or after 2100 (clock not set) left out",
    )


def _order(fixes: _Fixes) -> None:
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
        raise TrackFileError(
            f"{fixes.tally.where(late_place)}: the clock runs back there, so that points lie over "
            "each other in time; split the file at this point and use one part"
        )
    if late.any():
        fixes.tally.repair(
            "point out of order put in its place in time", late_place, int(late.sum())
        )
    if same_time.any():
        for bad, text in (
            (same_time & same_place, "point recorded twice left out"),
            (same_time & ~same_place, "second position for the same time left out"),
        ):
            if bad.any():
                fixes.tally.repair(text, fixes.first_place(bad), int(bad.sum()))
        fixes.take(~same_time)


def _steps_m(longitude: Array, latitude: Array, a: Index, b: Index) -> Array:
    """Distance between fixes a and b on a sphere, equirectangular; to a percent, for leaps. [m]"""
    lon_a, lon_b = longitude[a], longitude[b]
    lat_a, lat_b = latitude[a], latitude[b]
    turn = (lon_b - lon_a + 180) % 360 - 180
    east = np.radians(turn) * np.cos(np.radians((lat_a + lat_b) / 2))
    return np.asarray(6_371_000.0 * np.hypot(east, np.radians(lat_b - lat_a)))


def _drop_leaps(fixes: _Fixes) -> None:
    """Take out short runs of fixes that no vehicle could have reached and left again."""
    count = len(fixes)
    if count < 3:
        return
    time, lon, lat = fixes.time, fixes.longitude, fixes.latitude

    def impossible(a: Index, b: Index) -> Rows:
        far = _steps_m(lon, lat, a, b)
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
        raise TrackFileError(
            f"{fixes.where(bad | (np.arange(count) == first_jump))}: positions or times jump about "
            f"faster than {FASTEST_M_S:.0f} m/s at {int(bad.sum()) + remaining} of {count} points; "
            "this is no usable track"
        )
    if first_jump is not None:
        here = np.arange(count) == first_jump
        fixes.tally.warn(
            f"the track jumps faster than {FASTEST_M_S:.0f} m/s and does not come back",
            fixes.first_place(here),
            remaining,
        )
    fixes.drop(bad, f"leaping point (faster than {FASTEST_M_S:.0f} m/s there and back) left out")


def _tidy_fields(fixes: _Fixes) -> None:
    for name, bad, text in (
        ("speed", fixes.speed < 0, "speed below 0 taken as missing"),
        ("speed", fixes.speed > 2 * FASTEST_M_S, "impossible speed taken as missing"),
        ("accuracy", fixes.accuracy <= 0, "accuracy of 0 or less taken as missing"),
        ("hdop", (fixes.hdop <= 0) | (fixes.hdop >= 99), "HDOP of 0 or of 99 taken as missing"),
        ("height", np.abs(fixes.height) > 10_000, "impossible height taken as missing"),
    ):
        values = getattr(fixes, name)
        bad = bad | np.isinf(values)
        if bad.any():
            fixes.tally.repair(text, fixes.first_place(bad), int(bad.sum()))
            setattr(fixes, name, np.where(bad, np.nan, values))


def _describe(fixes: _Fixes) -> None:
    count = len(fixes)
    held = []
    for label, values in (
        ("height", fixes.height),
        ("speed", fixes.speed),
        ("accuracy", fixes.accuracy),
        ("HDOP", fixes.hdop),
    ):
        number = int(np.isfinite(values).sum())
        if number:
            held.append(label if number == count else f"{label} at {number}")
    extras = ", ".join(held) if held else "no height, speed or accuracy"
    segments = len(np.unique(fixes.segment))
    fixes.tally.fact(
        f"{count} points in {segments} segment{'s' if segments > 1 else ''}, with time and "
        f"position; {extras}"
    )


def merge(tracks: Sequence[Track]) -> Track:
    """Several files' tracks as one, in order of time; fixes that two files share are taken once.

    Raises
    ------
    TrackFileError : two files were recorded at the same time at different places.
    """
    if len(tracks) == 1:
        return tracks[0]
    tracks = sorted(tracks, key=lambda track: float(track.time_s[0]))
    kept: list[tuple[Track, Rows]] = []
    notices = [notice for track in tracks for notice in track.notices]
    from ..notices import Notice

    for track in tracks:
        keep = np.ones(len(track), dtype=bool)
        for other, _ in kept:
            overlap = track.time_s <= other.time_s[-1]
            if not overlap.any():
                continue
            at = np.searchsorted(other.time_s, track.time_s).clip(max=len(other) - 1)
            same = (
                (other.time_s[at] == track.time_s)
                & (np.abs(other.longitude_deg[at] - track.longitude_deg) < 1e-6)
                & (np.abs(other.latitude_deg[at] - track.latitude_deg) < 1e-6)
            )
            if (overlap & ~same).any():
                raise TrackFileError(
                    f"{_file(other)} and {_file(track)} were recorded at the same time at "
                    "different places; measure with one of them"
                )
            keep &= ~same
        if not keep.all():
            notices.append(
                Notice(
                    kind="repair",
                    text="point that another file holds too left out",
                    count=int((~keep).sum()),
                    where=f"{_file(track)}, point {int(np.argmin(keep)) + 1}",
                )
            )
        kept.append((track, keep))
    base, segments = 0, []
    for track, keep in kept:
        segments.append(track.segment[keep] + base)
        base += int(track.segment.max()) + 1

    def joined(name: str) -> Array:
        return np.concatenate([getattr(track, name)[keep] for track, keep in kept])

    return Track(
        time_s=joined("time_s"),
        longitude_deg=joined("longitude_deg"),
        latitude_deg=joined("latitude_deg"),
        height_m=joined("height_m"),
        speed_m_s=joined("speed_m_s"),
        accuracy_m=joined("accuracy_m"),
        hdop=joined("hdop"),
        segment=np.unique(np.concatenate(segments), return_inverse=True)[1],
        name=next((track.name for track in tracks if track.name), ""),
        inputs=tuple(file for track in tracks for file in track.inputs),
        marks=tuple(mark for track in tracks for mark in track.marks),
        notices=tuple(notices),
    )


def _file(track: Track) -> str:
    return track.inputs[0].name if track.inputs else track.name or "one file"
