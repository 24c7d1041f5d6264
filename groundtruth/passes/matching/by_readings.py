"""A running counter, or the instant of every turn: what was read, shared out among the passes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from ...core.assumptions import EACH_TURN_STD
from ...core.measured import Measured, triangular_std
from ...core.turns import TurnReadings
from .. import Pass
from .sheet_clock import SheetClock, sheet_clock
from .sheet_rows import SheetRow
from .types import (
    STANDING_SLACK_S,
    CountedEnd,
    CountedPass,
    Matching,
    MatchingContext,
    UnitCount,
    end_as_found,
    listed,
)

Array = NDArray[np.float64]


TURNED = 0.3
"""A step of the counter of at least this share of its usual one is that of a pass."""
PAUSED = 5.0
"""Between passes a wheel stands for so many times as long as its turns last."""
LEAST_PAUSE_S = 8.0


def from_readings(
    passes: Sequence[Pass], readings: Sequence[TurnReadings], context: MatchingContext
) -> Matching:
    """Readings of a running counter, or timed turns, shared out among the passes.

    Raises
    ------
    TurnSheetError : the readings do not fall between the passes.
    """
    clock = sheet_clock(_as_rows(readings), passes)
    if clock is not None:
        readings = [replace(r, time_s=r.time_s + _correction(clock, r.time_s)) for r in readings]
    matched = []
    for found in passes:
        inside = [_readings_within(found, r) for r in readings]
        if all(r.at_each_turn for r in readings):
            counted = _each_turn(found, readings, inside)
        else:
            counted = _between_readings(found, readings, passes, context)
        if counted is not None:
            matched.append(counted)
    if not matched:
        raise context.error(
            f"no counter reading fits a pass; readings run from "
            f"{context.clock(min(float(r.time_s[0]) for r in readings))} to "
            f"{context.clock(max(float(r.time_s[-1]) for r in readings))}, "
            f"passes found: {listed(passes, context)}",
        )
    return Matching(passes=tuple(matched), clock=clock)


def _correction(clock: SheetClock, time_s: Array) -> Array:
    return np.array([clock.correction_s(float(t)) for t in time_s])


def _as_rows(readings: Sequence[TurnReadings]) -> tuple[SheetRow, ...]:
    """When the first unit's wheel turned, pass by pass, as rows of a sheet without counts."""
    first = readings[0]
    if first.at_each_turn:
        pause = np.diff(first.time_s)
        split = np.flatnonzero(pause > max(PAUSED * float(np.median(pause)), LEAST_PAUSE_S))
        begins, ends = np.append(0, split + 1), np.append(split, len(first.time_s) - 1)
    else:
        steps = np.diff(first.turns)
        turned = steps[steps > 0]
        if not len(turned):
            return ()
        begins = np.flatnonzero(steps > TURNED * float(np.median(turned)))
        ends = begins + 1
    return tuple(
        SheetRow(
            number=k,
            counts=(),
            start_s=float(first.time_s[a]),
            end_s=float(first.time_s[b]),
            resolution_s=first.instant_resolution_s,
            under_way=first.at_each_turn,
        )
        for k, (a, b) in enumerate(zip(begins, ends, strict=True), start=1)
        if b > a
    )


def _readings_within(found: Pass, reading: TurnReadings) -> NDArray[np.int64]:
    within = (reading.time_s >= found.start.time_s - STANDING_SLACK_S) & (
        reading.time_s <= found.end.time_s + STANDING_SLACK_S
    )
    return np.flatnonzero(within)


def _each_turn(
    found: Pass, readings: Sequence[TurnReadings], inside: Sequence[NDArray[np.int64]]
) -> CountedPass | None:
    """Every turn has its instant: take the stretch that all units cover, and parts of turns."""
    present = [(r, i) for r, i in zip(readings, inside, strict=True) if len(i) >= 2]
    if not present:
        return None
    start = max(float(r.time_s[i[0]]) for r, i in present)
    end = min(float(r.time_s[i[-1]]) for r, i in present)
    if end <= start:
        return None
    counts = []
    for r, i in present:
        low, high = np.interp([start, end], r.time_s[i], r.turns[i])
        counts.append(UnitCount(unit=r.unit, turns=Measured(float(high - low), EACH_TURN_STD)))
    longest, within = max(present, key=lambda timed: len(timed[1]))
    instant_std_s = max(r.instant_resolution_s for r, _ in present) / sqrt(12)
    return CountedPass(
        number=found.number,
        found=found,
        start=CountedEnd(time_s=start, found="turn sheet", instant_std_s=instant_std_s),
        end=CountedEnd(time_s=end, found="turn sheet", instant_std_s=instant_std_s),
        wheel=(longest.time_s[within], longest.turns[within]),
        counts=tuple(counts),
    )


def _between_readings(
    found: Pass, readings: Sequence[TurnReadings], passes: Sequence[Pass], context: MatchingContext
) -> CountedPass | None:
    """The last reading before and the first after a pass, with no other pass in between."""
    counts = []
    slack = STANDING_SLACK_S
    for r in readings:
        before = np.flatnonzero(r.time_s <= found.start.time_s + slack)
        after = np.flatnonzero(r.time_s >= found.end.time_s - slack)
        if not len(before) or not len(after):
            continue
        a, b = before[-1], after[0]
        turns = float(r.turns[b] - r.turns[a])
        if turns <= 0:
            continue
        between = [
            p
            for p in passes
            if p.start.time_s > r.time_s[a] - slack and p.end.time_s < r.time_s[b] + slack
        ]
        if len(between) > 1:
            first, second = (context.clock(float(r.time_s[i])) for i in (a, b))
            raise context.error(
                f"unit {r.unit}: {len(between)} passes lie between the "
                f"readings at {first} and {second} "
                f"({listed(between, context)}); read the counter at both ends of every pass",
            )
        counts.append(UnitCount(unit=r.unit, turns=Measured(turns, triangular_std(r.resolution))))
    if not counts:
        return None
    return CountedPass(
        number=found.number,
        found=found,
        start=end_as_found(found.start),
        end=end_as_found(found.end),
        counts=tuple(counts),
    )
