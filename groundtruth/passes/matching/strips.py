"""Counts on strips of the track that are passes because the sheet says so."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot, sqrt

from ...core.errors import MeasureError
from ...core.turns import TurnCount
from .. import Pass, PassEnd
from ..strips import overlaps, pass_between
from .marks import REACTION_STD_S
from .row_counts import taped_of, unit_count
from .sheet_rows import sheet_rows
from .types import CountedEnd, CountedPass, MatchingContext, end_as_found


def counted_strips(
    counts: Sequence[TurnCount],
    passes: Sequence[Pass],
    matched: Sequence[CountedPass],
    context: MatchingContext,
) -> list[CountedPass]:
    """The strips of the track that the sheet says are passes, numbered on from those found.

    Raises
    ------
    TurnSheetError : a strip cannot be a pass, or lies on a pass that is counted already.
    """
    highest = max((p.number for p in passes), default=0)
    counted = list(matched)
    for row in sheet_rows(counts):
        assert row.start_s is not None and row.end_s is not None  # noqa: PT018
        try:
            found = pass_between(context.track, row.start_s, row.end_s, number=highest + row.number)
        except MeasureError as why:
            reason = f"strip {row.number}: {why.reason}"
            raise context.error(reason, row.line, "start") from None
        span = found.start.time_s, found.end.time_s
        for other in counted:
            if overlaps(span, (other.start.time_s, other.end.time_s)):
                reason = (
                    f"strip {row.number} lies on pass {other.number}, which has counts of its own; "
                    "keep one of them"
                )
                raise context.error(reason, row.line, "start")
        read_s = hypot(row.resolution_s / sqrt(12), REACTION_STD_S)
        counted.append(
            CountedPass(
                number=found.number,
                found=found,
                start=_given(found, found.start, read_s),
                end=_given(found, found.end, read_s),
                counts=tuple(unit_count(c) for c in row.counts),
                taped=taped_of(row.counts, context),
            )
        )
    return counted[len(matched) :]


def _given(found: Pass, end: PassEnd, read_s: float) -> CountedEnd:
    """The end of a strip: the stand there, or the instant with what place and watch leave open."""
    if end.found == "stopped":
        return end_as_found(end, confirmed=True)
    std_s = hypot(read_s, end.std_m / max(found.speed_m_s, 0.1))
    return CountedEnd(time_s=end.time_s, found=end.found, instant_std_s=std_s)
