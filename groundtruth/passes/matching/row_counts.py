"""What the lines of a sheet say of one pass, as matching hands it over."""

from __future__ import annotations

from collections.abc import Sequence

from ...core.measured import Measured
from ...core.turns import TurnCount
from .types import MatchingContext, UnitCount


def unit_count(count: TurnCount) -> UnitCount:
    """A line of the sheet as a count on its pass."""
    return UnitCount(
        unit=count.unit,
        turns=count.counted,
        setting=count.setting,
        crop=count.crop,
        bed=count.bed,
        line=count.line or None,
    )


def taped_of(counts: Sequence[TurnCount], context: MatchingContext) -> Measured | None:
    """The one taped length of a pass; it may stand on the line of any of its units.

    Raises
    ------
    TurnSheetError : there are two.
    """
    lengths = {c.taped for c in counts if c.taped is not None}
    if len(lengths) > 1:
        number = counts[0].pass_number
        reason = f"pass {number} has two taped lengths; write one for the pass"
        raise context.error(reason, column="taped")
    return lengths.pop() if lengths else None
