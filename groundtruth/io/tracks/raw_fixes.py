"""What every track reader fills: columns as read, and a tally of the repairs."""

from __future__ import annotations

from array import array
from dataclasses import dataclass, field

from ...core.errors import TrackFileError
from ...core.track import Waypoint
from ..tally import Tally

MAX_POINTS = 2_000_000
"""Of one file, and of all files of a call: 55 h at ten fixes a second."""
NAN = float("nan")
EARLIEST_S, LATEST_S = 315_964_800.0, 4_102_444_800.0
"""GPS time began on 1980-01-06 [IS-GPS-200, 3.3.4]; fixes after 2100 are a clock gone wrong."""


class TrackTally(Tally):
    """The notices about one track file, and its refusals."""

    __slots__ = ()

    def error(self, reason: str, place: int = 0) -> TrackFileError:
        """The refusal of this file for what stands at a place, or for the file as a whole."""
        if self.word == "line":
            return TrackFileError(reason, file=self.name, line=place or None)
        return TrackFileError(reason, file=self.name, point=place or None)


@dataclass(slots=True)
class FixColumns:
    """Fixes as a file gives them, in the order of the file; NaN where missing or unreadable.

    ``segment_starts`` are the rows at which the recorder began a new stretch. ``places`` numbers
    the lines of the rows; None where row i is simply point i + 1.
    """

    tally: TrackTally
    time_s: array[float] = field(default_factory=lambda: array("d"))
    longitude_deg: array[float] = field(default_factory=lambda: array("d"))
    latitude_deg: array[float] = field(default_factory=lambda: array("d"))
    height_m: array[float] = field(default_factory=lambda: array("d"))
    speed_m_s: array[float] = field(default_factory=lambda: array("d"))
    accuracy_m: array[float] = field(default_factory=lambda: array("d"))
    hdop: array[float] = field(default_factory=lambda: array("d"))
    fix_quality: array[float] = field(default_factory=lambda: array("d"))
    segment_starts: array[int] = field(default_factory=lambda: array("q"))
    places: array[int] | None = None
    track_name: str = ""
    waypoints: list[Waypoint] = field(default_factory=list)
    nothing: str = ""  # why there is no row at all, where the reader knows
    untimed: str = ""  # why no row has a time, where the reader knows

    def __len__(self) -> int:
        return len(self.time_s)

    def append(
        self,
        time_s: float,
        longitude_deg: float,
        latitude_deg: float,
        height_m: float = NAN,
        speed_m_s: float = NAN,
        accuracy_m: float = NAN,
        hdop: float = NAN,
        place: int | None = None,
    ) -> None:
        """Add one fix (readers in which every microsecond counts append to the columns)."""
        self.time_s.append(time_s)
        self.longitude_deg.append(longitude_deg)
        self.latitude_deg.append(latitude_deg)
        self.height_m.append(height_m)
        self.speed_m_s.append(speed_m_s)
        self.accuracy_m.append(accuracy_m)
        self.hdop.append(hdop)
        if place is not None:
            if self.places is None:
                self.places = array("q")
            self.places.append(place)
        if len(self.time_s) > MAX_POINTS:
            raise too_many(self.tally.name)

    def start_segment(self) -> None:
        """The next row begins a new stretch."""
        if not self.segment_starts or self.segment_starts[-1] != len(self.time_s):
            self.segment_starts.append(len(self.time_s))

    def place(self, row: int) -> int:
        """Number of the point or line of a row, from 1."""
        return row + 1 if self.places is None else self.places[row]


class NoTrackError(TrackFileError):
    """A file that is no track at all, so that others beside it in an archive can be used."""


FREE_LINES = 1_000_000


def too_sparse(name: str) -> TrackFileError:
    """The error of a file so large for so few points that reading on only costs time."""
    return TrackFileError(
        "very large, and hardly a point in it; no recorder writes such a file", file=name
    )


def too_many(name: str) -> TrackFileError:
    """The error of a file that would fill the memory."""
    return TrackFileError(
        f"more than {MAX_POINTS // 1_000_000} million points; split the file by days", file=name
    )
