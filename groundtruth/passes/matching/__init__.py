"""Bring turn counts and passes together: which count belongs to which pass, between which marks.

A count covers the ground on which the wheel turned. So a mark is the instant in the turn sheet
where that lies on the way; where the counter was read in standing, or with the seeder lifted on
the headland, the mark is the end of the pass as found in the track.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import tzinfo

from ...core.assumptions import EACH_TURN_STD
from ...core.track import Track
from ...core.turns import TurnSheet
from .. import Pass
from .by_pass import by_instants, by_number
from .by_readings import from_readings
from .gaps import doubted_if_unseen
from .types import CountedEnd, CountedPass, MatchingContext, UnitCount

__all__ = ["EACH_TURN_STD", "CountedEnd", "CountedPass", "UnitCount", "doubted_if_unseen", "match"]


def match(
    passes: Sequence[Pass], sheet: TurnSheet, track: Track, zone: tzinfo
) -> tuple[CountedPass, ...]:
    """The passes that were counted, in order of time.

    Raises
    ------
    TurnSheetError : an instant lies outside the track or on no pass, the numbers of passes differ,
        or counter readings do not fall between the passes.
    """
    context = MatchingContext(track=track, zone=zone, sheet_name=sheet.name)
    if sheet.readings:
        return from_readings(passes, sheet.readings, context)
    if all(c.start_s is None for c in sheet.counts):
        return by_number(passes, sheet.counts, context)
    return by_instants(passes, sheet.counts, context)
