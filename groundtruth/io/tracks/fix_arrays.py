"""The fixes of one file as arrays, thinned and ordered by the repairs step by step."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ...core.errors import TrackFileError
from .raw_fixes import FixColumns

Array = NDArray[np.float64]
Rows = NDArray[np.bool_]
Index = slice | NDArray[np.int64]


class Fixes:
    """The columns as arrays, thinned step by step; ``row`` keeps each fix's row in the file."""

    __slots__ = (
        "accuracy",
        "columns",
        "fix_quality",
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
    _DATA = (
        "time",
        "longitude",
        "latitude",
        "height",
        "speed",
        "accuracy",
        "hdop",
        "fix_quality",
        "segment",
    )

    def __init__(self, columns: FixColumns) -> None:
        self.columns, self.tally = columns, columns.tally
        self.time: Array = np.frombuffer(columns.time_s)
        self.longitude: Array = np.frombuffer(columns.longitude_deg)
        self.latitude: Array = np.frombuffer(columns.latitude_deg)
        self.height: Array = np.frombuffer(columns.height_m)
        self.speed: Array = np.frombuffer(columns.speed_m_s)
        self.accuracy: Array = np.frombuffer(columns.accuracy_m)
        self.hdop: Array = np.frombuffer(columns.hdop)
        quality = np.frombuffer(columns.fix_quality)  # only some formats have it
        self.fix_quality: Array = quality if len(quality) else np.full(len(self.time), np.nan)
        self.row: NDArray[np.int64] = np.arange(len(self.time))
        starts = np.array(columns.segment_starts, dtype=np.int64)
        self.segment: NDArray[np.int64] = np.searchsorted(starts, self.row, side="right")

    def __len__(self) -> int:
        return len(self.time)

    def take(self, keep: Rows | NDArray[np.int64]) -> None:
        """Keep the fixes of a mask, or those of an index in its order."""
        for name in (*self._DATA, "row"):
            setattr(self, name, getattr(self, name)[keep])

    def drop(self, bad: Rows, text: str) -> None:
        """Leave out fixes, and say so with the place of the first of them in the file."""
        if bad.any():
            self.tally.repair(text, self.first_place(bad), int(bad.sum()))
            self.take(~bad)

    def first_place(self, chosen: Rows) -> int:
        """Number of the point or line, in the file, of the first of the chosen fixes."""
        return self.columns.place(int(self.row[chosen].min()))

    def error(self, reason: str, chosen: Rows) -> TrackFileError:
        """The refusal of the file for the first of the chosen fixes."""
        return self.tally.error(reason, self.first_place(chosen))


def steps_m(longitude: Array, latitude: Array, a: Index, b: Index) -> Array:
    """Distance between fixes a and b, equirectangular on a sphere; to a percent. [m]"""
    lon_a, lon_b = longitude[a], longitude[b]
    lat_a, lat_b = latitude[a], latitude[b]
    turn = (lon_b - lon_a + 180) % 360 - 180
    east = np.radians(turn) * np.cos(np.radians((lat_a + lat_b) / 2))
    return np.asarray(6_371_000.0 * np.hypot(east, np.radians(lat_b - lat_a)))
