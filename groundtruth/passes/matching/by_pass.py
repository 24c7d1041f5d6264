"""Counts that a sheet gives pass by pass: in order, or by the instants written beside them."""

from __future__ import annotations

from collections.abc import Sequence
from math import nan

import numpy as np
from numpy.typing import NDArray

from ...core.errors import TurnSheetError
from ...core.findings import Finding, FindingKind
from ...core.turns import TurnCount
from .. import Pass
from .assignment import NO_TIME_FITS, assign, count_scores
from .marks import COARSE_S, drove_on, mark_of
from .row_counts import taped_of, unit_count
from .running_counts import apart
from .settling import settled, stood_when_read
from .sheet_clock import sheet_clock, time_scores
from .sheet_rows import SheetRow, moved, sheet_rows
from .strips import counted_strips
from .types import (
    STANDING_SLACK_S,
    CountedEnd,
    CountedPass,
    Matching,
    MatchingContext,
    end_as_found,
    listed,
    shortened,
)


def by_pass(
    passes: Sequence[Pass], counts: Sequence[TurnCount], context: MatchingContext
) -> Matching:
    """The passes that the sheet counts; what cannot be brought together is left out and named.

    Raises
    ------
    TurnSheetError : no row of the sheet belongs to a pass of the track; says why of the first.
    """
    given = tuple(c for c in counts if c.strip)
    rows, running = apart(sheet_rows([c for c in counts if not c.strip]), passes)
    clock = sheet_clock(rows, passes)
    if clock is not None:
        rows = tuple(moved(r, clock.correction_s(r.start_s or 0.0)) for r in rows)
    matched: list[CountedPass] = []
    left: list[tuple[Finding, TurnSheetError]] = []
    for row, at in zip(rows, _assigned(rows, passes), strict=True):
        if at is None:
            left.append(_without_pass(row, rows, passes, context))
            continue
        counted = _counted(row, passes[at], passes, context)
        if isinstance(counted, CountedPass):
            matched.append(counted)
        else:
            left.append(counted)
    matched += counted_strips(given, passes, matched, context)
    if not matched:
        raise left[0][1]
    findings = (*running, *_guessed(rows, passes, matched), *(finding for finding, _ in left))
    return Matching(
        passes=tuple(sorted(matched, key=lambda c: c.start.time_s)), findings=findings, clock=clock
    )


def _guessed(
    rows: Sequence[SheetRow], passes: Sequence[Pass], matched: Sequence[CountedPass]
) -> tuple[Finding, ...]:
    """That rows without times, not as many as the passes, were brought to them by length."""
    timed = any(row.start_s is not None for row in rows)
    if timed or _of_track(rows) or len(rows) == len(passes) or _leaves_out(rows, passes):
        return ()
    return (Finding(kind=FindingKind.GUESSED, passes=tuple(c.found.number for c in matched)),)


def _of_track(rows: Sequence[SheetRow]) -> bool:
    """Whether the sheet numbers its rows by the passes found in the track."""
    return all(count.of_track for row in rows for count in row.counts)


def _leaves_out(rows: Sequence[SheetRow], passes: Sequence[Pass]) -> bool:
    """Whether the sheet's own numbers leave out some of the passes."""
    numbers = [row.number for row in rows]
    return len(rows) < len(passes) == max(numbers) and min(numbers) >= 1


def _assigned(rows: Sequence[SheetRow], passes: Sequence[Pass]) -> list[int | None]:
    """For each row the pass that it belongs to, None for none."""
    if not rows or not passes:
        return [None] * len(rows)
    timed = any(row.start_s is not None for row in rows)
    if not timed and _of_track(rows):
        places = {found.number: at for at, found in enumerate(passes)}
        return [places.get(row.number) for row in rows]
    if not timed and _leaves_out(rows, passes):
        return [row.number - 1 for row in rows]
    score = count_scores(rows, passes)
    if not timed:
        more = len(rows) > len(passes)
        doubled = [more and i > 0 and _turns(r) == _turns(rows[i - 1]) for i, r in enumerate(rows)]
        return assign(score, passes, doubled)
    by_time = time_scores(rows, passes, np.zeros(1))[:, :, 0]
    has_time = np.array([row.start_s is not None for row in rows])[:, None]
    score = score + np.where(has_time & _elsewhere(rows, passes), -NO_TIME_FITS, by_time)
    return assign(score, passes)


def _elsewhere(rows: Sequence[SheetRow], passes: Sequence[Pass]) -> NDArray[np.bool_]:
    """Whether a row's instants do not overlap with a pass; not where it has none. (rows, passes)"""
    low = np.array([nan if r.start_s is None else r.start_s - r.resolution_s for r in rows])
    high = np.array([nan if r.end_s is None else r.end_s + r.resolution_s for r in rows])
    start, end = np.array([(p.start.time_s, p.end.time_s) for p in passes]).T
    return np.asarray((high[:, None] <= start) | (low[:, None] >= end))


def _counted(
    row: SheetRow, found: Pass, passes: Sequence[Pass], context: MatchingContext
) -> CountedPass | tuple[Finding, TurnSheetError]:
    """The pass with its marks and counts, or why the row cannot be used."""
    taped = taped_of(row.counts, context)
    if row.start_s is None or row.end_s is None:
        return CountedPass(
            number=row.number,
            found=found,
            start=end_as_found(found.start),
            end=end_as_found(found.end),
            counts=tuple(unit_count(c) for c in row.counts),
            taped=taped,
        )
    wrong = _not_usable(row, found, passes, context)
    if wrong is not None:
        return wrong
    if row.resolution_s < COARSE_S:
        found = settled(found, row.start_s, row.end_s, row.resolution_s, context)
        found = stood_when_read(found, row.start_s, row.end_s, row.resolution_s, context)
    start, end = _marks(row.start_s, row.end_s, found, row.resolution_s, context)
    if end.time_s <= start.time_s:
        reason = (
            f"pass {row.number}, {context.clock(row.start_s)} to "
            f"{context.clock(row.end_s)}, covers no time under way; check the two times"
        )
        return _left(FindingKind.TIMES_DIFFER, row, context.error(reason, row.line, "end"))
    first = row.counts[0]
    kept, alike_s = [], max(2.0, row.resolution_s)
    for count in row.counts:
        if count.start_s is not None and count.end_s is not None:
            own = _marks(count.start_s, count.end_s, found, row.resolution_s, context)
            apart_s = max(abs(own[0].time_s - start.time_s), abs(own[1].time_s - end.time_s))
            if apart_s > alike_s:
                continue
        kept.append(count)
    if first.start_s is None:
        first = next(c for c in row.counts if c.start_s is not None)
    return CountedPass(
        number=row.number,
        found=found,
        start=start,
        end=end,
        counts=tuple(unit_count(c) for c in kept),
        taped=taped,
        doubt=drove_on(found, first, row.resolution_s, context),
        read_elsewhere=tuple(unit_count(c) for c in row.counts if c not in kept),
    )


def _marks(
    start_s: float, end_s: float, found: Pass, resolution_s: float, context: MatchingContext
) -> tuple[CountedEnd, CountedEnd]:
    return (
        mark_of(found, start_s, resolution_s, context, at_start=True),
        mark_of(found, end_s, resolution_s, context, at_start=False),
    )


def _not_usable(
    row: SheetRow, found: Pass, passes: Sequence[Pass], context: MatchingContext
) -> tuple[Finding, TurnSheetError] | None:
    """Why a row's instants cannot bound a count on this pass, None where they can."""
    assert row.start_s is not None
    assert row.end_s is not None
    first, last = float(context.track.time_s[0]), float(context.track.time_s[-1])
    span = f"pass {row.number}, {context.clock(row.start_s)} to {context.clock(row.end_s)}"
    recorded = f"the track runs from {context.clock(first)} to {context.clock(last)}"
    covered = [p for p in passes if _share(row.start_s, row.end_s, p) > 0.5]
    if len(covered) > 1 and row.resolution_s < COARSE_S:
        reason = (
            f"{span}, covers more than one pass of the track ({listed(covered, context)}); count "
            "each pass by itself"
        )
        return _left(FindingKind.SEVERAL_PASSES, row, context.error(reason, row.line, "end"))
    slack = STANDING_SLACK_S + (row.resolution_s if row.resolution_s > 1 else 0.0)
    if row.start_s < first - slack and found.start.found != "stopped":
        reason = (
            f"{span}, starts before the track begins; {recorded}; start the recording before the "
            "pass"
        )
        return _left(FindingKind.NOT_RECORDED, row, context.error(reason, row.line, "start"))
    if row.end_s > last + slack and found.end.found != "stopped":
        reason = f"{span}, ends after the track does; {recorded}"
        return _left(FindingKind.NOT_RECORDED, row, context.error(reason, row.line, "end"))
    return None


def _share(start_s: float, end_s: float, found: Pass) -> float:
    """Share of a pass that lies between two instants."""
    overlap = min(end_s, found.end.time_s) - max(start_s, found.start.time_s)
    return max(overlap, 0.0) / max(found.end.time_s - found.start.time_s, 1e-9)


def _without_pass(
    row: SheetRow, rows: Sequence[SheetRow], passes: Sequence[Pass], context: MatchingContext
) -> tuple[Finding, TurnSheetError]:
    """Why a row belongs to no pass."""
    same = next((r for r in rows if r is not row and _turns(r) == _turns(row)), None)
    if row.start_s is None or row.end_s is None:
        reason = (
            f"lists {len(rows)} passes ({shortened(str(r.number) for r in rows)}), "
            f"but the track holds {len(passes)} ({listed(passes, context)}); "
            "add start and end times to the sheet, or correct its pass numbers"
        )
        kind = FindingKind.ROW_DOUBLED if same else FindingKind.NO_PASS
        return _left(kind, row, context.error(reason))
    first, last = float(context.track.time_s[0]), float(context.track.time_s[-1])
    span = f"pass {row.number}, {context.clock(row.start_s)} to {context.clock(row.end_s)}"
    recorded = f"the track runs from {context.clock(first)} to {context.clock(last)}"
    if row.end_s < first or row.start_s > last:
        side = "before the track begins" if row.end_s < first else "after the track ends"
        reason = (
            f"{span}, lies {side}; {recorded}; check the day, time_zone and the clock of the sheet"
        )
        return _left(FindingKind.NOT_RECORDED, row, context.error(reason, row.line, "start"))
    rival = next((r for r in rows if r is not row and _same_time(r, row)), None)
    if rival is not None:
        numbers = sorted((rival.number, row.number))
        reason = f"passes {numbers[0]} and {numbers[1]} both fall on one pass of the track"
        kind = FindingKind.ROW_DOUBLED if _turns(rival) == _turns(row) else FindingKind.SAME_PASS
        return _left(kind, row, context.error(reason, row.line, "pass"))
    reason = (
        f"{span}: no straight working pass was found at that time; "
        f"passes found: {listed(passes, context)}; {recorded}"
    )
    return _left(FindingKind.NO_PASS, row, context.error(reason, row.line, "start"))


def _same_time(one: SheetRow, other: SheetRow) -> bool:
    """Whether the instants of two rows mean the same time."""
    if None in (one.start_s, one.end_s, other.start_s, other.end_s):
        return False
    assert one.start_s is not None and one.end_s is not None  # noqa: PT018
    assert other.start_s is not None and other.end_s is not None  # noqa: PT018
    overlap = min(one.end_s, other.end_s) - max(one.start_s, other.start_s)
    return overlap > 0.5 * min(one.end_s - one.start_s, other.end_s - other.start_s)


def _turns(row: SheetRow) -> tuple[tuple[str, float], ...]:
    return tuple((c.unit, c.turns) for c in row.counts)


def _left(
    kind: FindingKind, row: SheetRow, error: TurnSheetError
) -> tuple[Finding, TurnSheetError]:
    finding = Finding(
        kind=kind, passes=(row.number,), from_s=row.start_s, until_s=row.end_s, line=row.line
    )
    return finding, error
