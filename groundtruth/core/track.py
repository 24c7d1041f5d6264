"""A recorded track: what every reader delivers and everything after the readers works on."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Self

import numpy as np
from numpy.typing import NDArray

from .errors import InputError
from .frames import seconds_of, utc_times
from .notices import Notice

if TYPE_CHECKING:
    import pandas as pd

Array = NDArray[np.float64]
_NEEDED = ("longitude_deg", "latitude_deg")
_OPTIONAL = ("height_m", "speed_m_s", "accuracy_m", "hdop", "fix_quality")
FIX_ARRAYS = ("time_s", *_NEEDED, *_OPTIONAL, "segment")
"""Fields of a track that hold a value for each fix."""


def _unknown() -> NDArray[Any]:
    return np.zeros(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class InputFile:
    """An input as the result names it: its name (no folder) and the SHA-256 of its bytes."""

    name: str
    sha256: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Waypoint:
    """A named place in a track file beside the fixes, perhaps with a time."""

    name: str
    longitude_deg: float
    latitude_deg: float
    time_s: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Track:
    """Fixes in order of time, from one or several files.

    All arrays have shape (n,), are owned by the track and read-only. ``time_s`` counts seconds
    since 1970-01-01 UTC and strictly increases. ``height_m``, ``speed_m_s`` (as the device
    reported it, usually from Doppler), ``accuracy_m`` (the device's own 68 % radius), ``hdop`` and
    ``fix_quality`` (the quality indicator of NMEA 0183's GGA sentence: 4 and 5 with carrier-phase
    corrections) are NaN where missing, and need not be given where all are. ``segment`` numbers the
    stretches that the recorder itself separated, 0 upwards. ``written_every_m`` is the movement
    that the recorder waits for before it writes a fix, None where it writes by the clock.

    Raises
    ------
    ValueError : shapes differ, a time or coordinate is not finite, or times do not increase.
    """

    time_s: Array
    longitude_deg: Array
    latitude_deg: Array
    height_m: Array = field(default_factory=_unknown)
    speed_m_s: Array = field(default_factory=_unknown)
    accuracy_m: Array = field(default_factory=_unknown)
    hdop: Array = field(default_factory=_unknown)
    fix_quality: Array = field(default_factory=_unknown)
    segment: NDArray[np.int64] = field(default_factory=_unknown)
    written_every_m: float | None = None
    name: str = ""
    inputs: tuple[InputFile, ...] = ()
    waypoints: tuple[Waypoint, ...] = ()
    notices: tuple[Notice, ...] = ()

    def __post_init__(self) -> None:
        shape = np.shape(self.time_s)
        for name, nothing in (*((name, np.nan) for name in _OPTIONAL), ("segment", 0)):
            if not np.size(getattr(self, name)):
                object.__setattr__(self, name, np.full(shape, nothing))
        for name in ("time_s", *_NEEDED, *_OPTIONAL):
            own = np.array(getattr(self, name), dtype=np.float64)
            if own.ndim != 1 or own.shape != shape:
                raise ValueError(f"{name} has shape {own.shape}, time_s has {shape}")
            own.setflags(write=False)
            object.__setattr__(self, name, own)
        segment = np.array(self.segment, dtype=np.int64)
        if segment.shape != shape:
            raise ValueError(f"segment has shape {segment.shape}, time_s has {shape}")
        segment.setflags(write=False)
        object.__setattr__(self, "segment", segment)
        for name in ("time_s", *_NEEDED):
            finite = np.isfinite(getattr(self, name))
            if not finite.all():
                raise ValueError(f"{name} is not finite at fix {int(np.argmin(finite)) + 1}")
        later = np.diff(self.time_s) > 0
        if not later.all():
            raise ValueError(
                f"times must increase; that of fix {int(np.argmin(later)) + 2} does not"
            )

    def __len__(self) -> int:
        return len(self.time_s)

    def taken(self, which: NDArray[np.bool_] | NDArray[np.int64], **changed: Any) -> Self:
        """The track with the fixes that a mask keeps or an index names, and fields ``changed``."""
        arrays = {name: getattr(self, name)[which] for name in FIX_ARRAYS}
        return replace(self, **(arrays | changed))

    @property
    def called(self) -> str:
        """What a message calls it: the file it came from, else the name the recorder gave."""
        return self.inputs[0].name if self.inputs else self.name or "the track"

    @classmethod
    def from_frame(cls, frame: pd.DataFrame, *, name: str = "") -> Self:
        """The track in a pandas table with one row for each fix, in order of time.

        Columns are named as the track's own fields: ``time`` (or an index of times) with a time
        zone, ``longitude_deg``, ``latitude_deg``, and where they are known ``height_m``,
        ``speed_m_s``, ``accuracy_m``, ``hdop``, ``fix_quality`` and ``segment``. Others are left
        aside.

        >>> import pandas as pd
        >>> frame = pd.DataFrame({
        ...     "time": pd.to_datetime(["2026-05-12T07:00Z", "2026-05-12T07:01Z"]),
        ...     "longitude_deg": [7.1, 7.1], "latitude_deg": [48.7, 48.701]})
        >>> len(Track.from_frame(frame))
        2

        Raises
        ------
        InputError : a column is missing, or times carry no zone.
        ValueError : a value is missing or not finite, or times do not increase; says which fix.
        """
        columns = list(map(str, frame.columns))
        times = frame["time"] if "time" in columns else frame.index
        if "time" not in columns and times.dtype.kind != "M":
            columns.append("an index of numbers")
            missing = "time"
        else:
            missing = next((one for one in _NEEDED if one not in columns), "")
        if missing:
            raise InputError(f"no column {missing}; there are {', '.join(columns)}", column=missing)

        def values(column: str) -> Array:
            if column not in columns:
                return np.full(len(frame), np.nan)
            return np.asarray(frame[column].to_numpy(dtype=np.float64, na_value=np.nan))

        segment = frame["segment"] if "segment" in columns else np.zeros(len(frame))
        fields: dict[str, Any] = {name: values(name) for name in (*_NEEDED, *_OPTIONAL)}
        return cls(
            time_s=seconds_of(times),
            **fields,
            segment=np.unique(np.asarray(segment), return_inverse=True)[1],
            name=name,
        )

    def to_frame(self) -> pd.DataFrame:
        """The fixes as a pandas table, one row each; ``time`` is datetime64[ns, UTC].

        The other columns are the track's own fields, NaN where a value is missing. `from_frame`
        reads it again, to the last digit.
        """
        import pandas as pd

        fields = {name: getattr(self, name) for name in FIX_ARRAYS if name != "time_s"}
        return pd.DataFrame({"time": utc_times(self.time_s), **fields})
