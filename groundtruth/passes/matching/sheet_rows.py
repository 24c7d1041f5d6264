"""The rows of a turn sheet, one for each pass: its counts and the instants written beside them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ...core.turns import TurnCount

ROUND_STEPS_S = (60.0, 30.0, 15.0, 10.0, 5.0)
"""Steps to which people read a watch. Instants that are all multiples of one were read so."""
LEAST_INSTANTS = 6
"""So many instants tell the step: all multiples of 5 s by chance once in 15,000 sheets."""

NUMBERED_IN_ORDER = 0.6
"""Passes are numbered in the order of the day where so many of the rows start after the one before;
a time that is typed wrong changes no order then."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetRow:
    """What the sheet says of one pass. Instants are None where it follows the order of the passes.

    ``resolution_s`` is the step to which the instants were read; ``under_way`` says that they are
    those of the wheel's first and last turn.
    """

    number: int
    counts: tuple[TurnCount, ...]
    start_s: float | None
    end_s: float | None
    resolution_s: float
    under_way: bool = False

    @property
    def line(self) -> int | None:
        """The first line of the sheet that is about this pass."""
        return self.counts[0].line or None


def sheet_rows(counts: Sequence[TurnCount]) -> tuple[SheetRow, ...]:
    """The rows in order: by their numbers, or by their instants where most contradict them."""
    step_s = _step_read_to(counts)
    by_number: dict[int, list[TurnCount]] = {}
    for count in counts:
        by_number.setdefault(count.pass_number, []).append(count)
    rows = []
    for number, of_pass in sorted(by_number.items()):
        timed = next((c for c in of_pass if c.start_s is not None), of_pass[0])
        rows.append(
            SheetRow(
                number=number,
                counts=tuple(of_pass),
                start_s=timed.start_s,
                end_s=timed.end_s,
                resolution_s=max(timed.instant_resolution_s, step_s),
            )
        )
    starts = [row.start_s for row in rows if row.start_s is not None]
    if len(starts) == len(rows) > 1 and np.mean(np.diff(starts) > 0) < NUMBERED_IN_ORDER:
        rows.sort(key=lambda row: row.start_s or 0.0)
    return tuple(rows)


def _step_read_to(counts: Iterable[TurnCount]) -> float:
    instants = {t for c in counts for t in (c.start_s, c.end_s) if t is not None}
    if len(instants) < LEAST_INSTANTS:
        return 0.0
    seconds = np.array(sorted(instants))
    return next((s for s in ROUND_STEPS_S if not np.any(seconds % s)), 0.0)


def moved(row: SheetRow, by_s: float) -> SheetRow:
    """The row with its instants so much later."""
    if row.start_s is None or row.end_s is None:
        return row

    def later(count: TurnCount) -> TurnCount:
        if count.start_s is None or count.end_s is None:
            return count
        return replace(count, start_s=count.start_s + by_s, end_s=count.end_s + by_s)

    return replace(
        row,
        start_s=row.start_s + by_s,
        end_s=row.end_s + by_s,
        counts=tuple(map(later, row.counts)),
    )
