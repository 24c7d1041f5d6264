"""Several files' tracks put together as one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from ...core.errors import TrackFileError
from ...core.language import English
from ...core.notices import Notice, at_point
from ...core.track import FIX_ARRAYS, Track
from .fix_arrays import Rows


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
                    text=English("point that another file holds too left out"),
                    count=int((~keep).sum()),
                    where=at_point(_file(track), int(np.argmin(keep)) + 1),
                )
            )
        kept.append((track, keep))
    base, segments = 0, []
    for track, keep in kept:
        segments.append(track.segment[keep] + base)
        base += int(track.segment.max()) + 1

    joined: dict[str, Any] = {
        name: np.concatenate([getattr(track, name)[keep] for track, keep in kept])
        for name in FIX_ARRAYS
    }
    joined["segment"] = np.unique(np.concatenate(segments), return_inverse=True)[1]
    return Track(
        **joined,
        written_every_m=max((t.written_every_m or 0.0 for t in tracks), default=0.0) or None,
        name=next((track.name for track in tracks if track.name), ""),
        inputs=tuple(file for track in tracks for file in track.inputs),
        waypoints=tuple(point for track in tracks for point in track.waypoints),
        notices=tuple(notices),
    )


def _file(track: Track) -> str:
    return track.inputs[0].name if track.inputs else track.name or "one file"
