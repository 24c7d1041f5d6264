"""Say what a track holds and which passes are found in it."""

from __future__ import annotations

from dataclasses import dataclass

from ..io import read_track
from ..io.files import FileInput
from ..measurement.inspect import Inspection, inspect_track


@dataclass(frozen=True, slots=True, kw_only=True)
class InspectRequest:
    """Track files, put together in order of time; ``time_zone`` is that of times without zone."""

    track: tuple[FileInput, ...]
    time_zone: str | None = None


def inspection_for(request: InspectRequest) -> Inspection:
    """The track as it was read and the passes found in it, which `MeasureRequest` takes again.

    Raises
    ------
    TrackFileError : a file cannot be read, or holds no usable track.
    """
    return inspect_track(read_track(request.track, time_zone=request.time_zone))
