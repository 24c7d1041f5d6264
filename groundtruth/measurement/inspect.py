"""Look a track over: how often it was fixed, what its fixes carry, which passes it holds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ..core.track import Track
from ..passes import Pass, find_passes


@dataclass(frozen=True, slots=True, kw_only=True)
class Inspection:
    """A track with what was found in it. ``interval_s`` is the median time between fixes;
    ``shares`` tells for each optional field the share of fixes that carry it."""

    track: Track
    passes: tuple[Pass, ...]
    interval_s: float
    longest_gap_s: float
    shares: Mapping[str, float]


def inspect_track(track: Track) -> Inspection:
    """What a track holds, with the passes found in it, for `measure` to take again."""
    steps = np.diff(track.time_s)
    fields = {
        "height": track.height_m,
        "speed": track.speed_m_s,
        "accuracy": track.accuracy_m,
        "hdop": track.hdop,
    }
    return Inspection(
        track=track,
        passes=find_passes(track),
        interval_s=float(np.median(steps)),
        longest_gap_s=float(steps.max()),
        shares={name: float(np.isfinite(values).mean()) for name, values in fields.items()},
    )
