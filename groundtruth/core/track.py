"""A recorded track: what every reader delivers and everything after the readers works on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .notices import Notice

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class InputFile:
    """An input as the result names it: its name (no folder) and the SHA-256 of its bytes."""

    name: str
    sha256: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A waypoint kept from a track file: a place, perhaps a time, a name."""

    name: str
    longitude_deg: float
    latitude_deg: float
    time_s: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Track:
    """Fixes in order of time, from one or several files.

    All arrays have shape (n,), are owned by the track and read-only. ``time_s`` counts seconds
    since 1970-01-01 UTC and strictly increases. ``height_m``, ``speed_m_s`` (as the device
    reported it, usually from Doppler), ``accuracy_m`` (the device's own 68 % radius) and ``hdop``
    are NaN where missing. ``segment`` numbers the stretches that the recorder itself separated,
    0 upwards.

    Raises
    ------
    ValueError : shapes differ, a time or coordinate is not finite, or times do not increase.
    """

    time_s: Array
    longitude_deg: Array
    latitude_deg: Array
    height_m: Array
    speed_m_s: Array
    accuracy_m: Array
    hdop: Array
    segment: NDArray[np.int64]
    name: str = ""
    inputs: tuple[InputFile, ...] = ()
    marks: tuple[Mark, ...] = ()
    notices: tuple[Notice, ...] = ()

    def __post_init__(self) -> None:
        shape = np.shape(self.time_s)
        for field in (
            "time_s",
            "longitude_deg",
            "latitude_deg",
            "height_m",
            "speed_m_s",
            "accuracy_m",
            "hdop",
        ):
            own = np.array(getattr(self, field), dtype=np.float64)
            if own.ndim != 1 or own.shape != shape:
                raise ValueError(f"{field} has shape {own.shape}, time_s has {shape}")
            own.setflags(write=False)
            object.__setattr__(self, field, own)
        segment = np.array(self.segment, dtype=np.int64)
        if segment.shape != shape:
            raise ValueError(f"segment has shape {segment.shape}, time_s has {shape}")
        segment.setflags(write=False)
        object.__setattr__(self, "segment", segment)
        for field in ("time_s", "longitude_deg", "latitude_deg"):
            if not np.isfinite(getattr(self, field)).all():
                raise ValueError(f"{field} holds values that are not finite")
        if not (np.diff(self.time_s) > 0).all():
            raise ValueError("times must strictly increase")

    def __len__(self) -> int:
        return len(self.time_s)
