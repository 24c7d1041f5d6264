"""Bring turn counts and passes together: which count belongs to which pass, between which marks.

A count covers the ground on which the wheel turned. So a mark is the instant in the turn sheet
where that lies on the way; where the counter was read in standing, or with the seeder lifted on
the headland, the mark is the end of the pass as found in the track.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import tzinfo

import numpy as np

from ...core.assumptions import EACH_TURN_STD
from ...core.track import Track
from ...core.turns import TurnSheet
from .. import Pass
from .by_pass import by_pass
from .by_readings import from_readings
from .gaps import doubted_if_unseen
from .sheet_clock import SheetClock
from .types import CountedEnd, CountedPass, Matching, MatchingContext, UnitCount

__all__ = [
    "EACH_TURN_STD",
    "CountedEnd",
    "CountedPass",
    "Matching",
    "SheetClock",
    "UnitCount",
    "doubted_if_unseen",
    "match",
    "matching",
]


def match(
    passes: Sequence[Pass], sheet: TurnSheet, track: Track, zone: tzinfo
) -> tuple[CountedPass, ...]:
    """The passes that were counted, in order of time; see `matching`."""
    return matching(passes, sheet, track, zone).passes


def matching(passes: Sequence[Pass], sheet: TurnSheet, track: Track, zone: tzinfo) -> Matching:
    """The passes that were counted, in order of time, and what was left out.

    Raises
    ------
    TurnSheetError : no count belongs to a pass, or counter readings do not fall between the passes.
    """
    context = MatchingContext(
        track=track,
        interval_s=float(np.median(np.diff(track.time_s))) if len(track) > 1 else 0.0,
        zone=zone,
        sheet_name=sheet.name,
    )
    if sheet.readings:
        return from_readings(passes, sheet.readings, context)
    return by_pass(passes, sheet.counts, context)
