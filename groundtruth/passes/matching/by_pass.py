"""Counts that a sheet gives pass by pass: in order, or by the instants written beside them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import hypot, sqrt

import numpy as np

from ...core.findings import Finding, FindingKind
from ...core.measured import Measured
from ...core.plane import Axis, Plane
from ...core.turns import TurnCount
from .. import Pass, PassEnd
from .types import (
    STANDING_SLACK_S,
    CountedEnd,
    CountedPass,
    MatchingContext,
    UnitCount,
    end_as_found,
    listed,
    shortened,
)

REACTION_STD_S = 1.0
"""An instant noted by hand on the move is late or early by this much, standard deviation, s
(common practice, no source); instants written to fractions of a second come from a device."""
RAN_ON_S = 20.0
RAN_ON_M = 15.0
"""The tractor went on in line for so long and so far after an end that was found."""


def by_number(
    passes: Sequence[Pass], counts: Sequence[TurnCount], context: MatchingContext
) -> tuple[CountedPass, ...]:
    """Counts without instants go to the passes by their numbers, or in order where as many.

    Raises
    ------
    TurnSheetError : the sheet lists other passes than the track holds.
    """
    numbers = sorted({c.pass_number for c in counts})
    by_number = {p.number: p for p in passes}
    if len(numbers) == len(passes):
        pairs = dict(zip(numbers, passes, strict=True))
    elif numbers[-1] == len(passes) and numbers[0] >= 1:
        pairs = {n: by_number[n] for n in numbers}  # some passes were not counted
    else:
        raise context.error(
            f"lists {len(numbers)} passes ({shortened(map(str, numbers))}), "
            f"but the track holds {len(passes)} ({listed(passes, context)}); "
            "add start and end times to the sheet, or correct its pass numbers",
        )
    return tuple(
        CountedPass(
            number=number,
            found=found,
            start=end_as_found(found.start),
            end=end_as_found(found.end),
            counts=tuple(_unit_count(c) for c in counts if c.pass_number == number),
            taped=_taped([c for c in counts if c.pass_number == number], context),
        )
        for number, found in pairs.items()
    )


def by_instants(
    passes: Sequence[Pass], counts: Sequence[TurnCount], context: MatchingContext
) -> tuple[CountedPass, ...]:
    """Counts with instants go to the passes that were driven then.

    Raises
    ------
    TurnSheetError : an instant lies outside the track or on no pass, or two counts contradict.
    """
    matched: dict[int, CountedPass] = {}
    taken: dict[int, int] = {}
    for count in counts:
        line = count.line or None
        if count.start_s is None or count.end_s is None:
            raise context.error(
                f"pass {count.pass_number} has no start and end, but other lines do; "
                "give them on every line or on none",
                line,
                "start",
            )
        found = _pass_at(passes, count.start_s, count.end_s, count.pass_number, line, context)
        start = _mark(found, count.start_s, count.instant_resolution_s, at_start=True)
        end = _mark(found, count.end_s, count.instant_resolution_s, at_start=False)
        if end.time_s <= start.time_s:
            raise context.error(
                f"pass {count.pass_number}, {context.clock(count.start_s)} to "
                f"{context.clock(count.end_s)}, covers no time under way; check the two times",
                line,
                "end",
            )
        if taken.setdefault(found.number, count.pass_number) != count.pass_number:
            raise context.error(
                f"passes {taken[found.number]} and {count.pass_number} both fall on the "
                f"pass from {context.clock(found.start.time_s)} to "
                f"{context.clock(found.end.time_s)}",
                line,
                "pass",
            )
        earlier = matched.get(count.pass_number)
        if earlier is None:
            matched[count.pass_number] = CountedPass(
                number=count.pass_number,
                found=found,
                start=start,
                end=end,
                counts=(_unit_count(count),),
                doubt=_doubt(found, count, context),
            )
            continue
        apart = max(abs(earlier.start.time_s - start.time_s), abs(earlier.end.time_s - end.time_s))
        if earlier.found is not found or apart > max(2.0, count.instant_resolution_s):
            raise context.error(
                f"pass {count.pass_number}, unit {count.unit}: its times differ from "
                "those of the pass's other units while the tractor was under way; "
                "read all units between the same two places",
                line,
                "start",
            )
        counted = (*earlier.counts, _unit_count(count))
        matched[count.pass_number] = replace(earlier, counts=counted)
    lengths = {
        number: _taped([c for c in counts if c.pass_number == number], context)
        for number in matched
    }
    taped = [replace(c, taped=lengths[number]) for number, c in matched.items()]
    return tuple(sorted(taped, key=lambda c: c.start.time_s))


def _unit_count(count: TurnCount) -> UnitCount:
    return UnitCount(
        unit=count.unit,
        turns=count.counted,
        setting=count.setting,
        crop=count.crop,
        bed=count.bed,
    )


def _taped(counts: Sequence[TurnCount], context: MatchingContext) -> Measured | None:
    """The one taped length of a pass; it may stand on the line of any of its units."""
    lengths = {c.taped for c in counts if c.taped is not None}
    if len(lengths) > 1:
        number = counts[0].pass_number
        reason = f"pass {number} has two taped lengths; write one for the pass"
        raise context.error(reason, column="taped")
    return lengths.pop() if lengths else None


def _doubt(found: Pass, count: TurnCount, context: MatchingContext) -> Finding | None:
    """That the tractor drove straight on between an end of the pass and the sheet's instant,
    None where it did not.

    Then the pass was cut short, or the count was noted elsewhere than at the end.
    """
    if count.start_s is None or count.end_s is None:
        return None
    for end, instant_s, sign in ((found.start, count.start_s, -1.0), (found.end, count.end_s, 1.0)):
        late_s = sign * (instant_s - end.time_s)
        if late_s < RAN_ON_S + count.instant_resolution_s:
            continue
        track = context.track
        lon = np.interp([end.time_s, instant_s], track.time_s, track.longitude_deg)
        lat = np.interp([end.time_s, instant_s], track.time_s, track.latitude_deg)
        plane = Plane(longitude_deg=float(lon[0]), latitude_deg=float(lat[0]))
        (_, east), (_, north) = plane.to_metres(lon, lat)
        axis = Axis.towards(found.axis_deg)
        along, across = sign * float(axis.along(east, north)), float(axis.across(east, north))
        if along > RAN_ON_M and abs(across) < 0.2 * along:
            return Finding(
                kind=FindingKind.DROVE_ON,
                passes=(count.pass_number,),
                end="start" if sign < 0 else "end",
                from_s=min(end.time_s, instant_s),
                until_s=max(end.time_s, instant_s),
                along_m=along,
            )
    return None


def _pass_at(
    passes: Sequence[Pass],
    start_s: float,
    end_s: float,
    number: int,
    line: int | None,
    context: MatchingContext,
) -> Pass:
    first, last = float(context.track.time_s[0]), float(context.track.time_s[-1])
    span = f"{context.clock(start_s)} to {context.clock(end_s)}"
    recorded = f"the track runs from {context.clock(first)} to {context.clock(last)}"
    if end_s < first or start_s > last:
        side = "before the track begins" if end_s < first else "after the track ends"
        raise context.error(
            f"pass {number}, {span}, lies {side}; {recorded}; "
            "check the day, time_zone and the clock of the sheet",
            line,
            "start",
        )
    overlap = [max(0.0, min(end_s, p.end.time_s) - max(start_s, p.start.time_s)) for p in passes]
    share = [
        o / max(p.end.time_s - p.start.time_s, 1e-9) for o, p in zip(overlap, passes, strict=True)
    ]
    if not passes or max(overlap) <= 0:
        raise context.error(
            f"pass {number}, {span}: no straight working pass was found at that time; "
            f"passes found: {listed(passes, context)}; {recorded}",
            line,
            "start",
        )
    if sum(s > 0.5 for s in share) > 1:
        raise context.error(
            f"pass {number}, {span}, covers more than one pass of the track "
            f"({listed([p for p, s in zip(passes, share, strict=True) if s > 0.5], context)}); "
            "count each pass by itself",
            line,
            "end",
        )
    best = max(range(len(passes)), key=lambda i: overlap[i])
    if start_s < first - STANDING_SLACK_S:
        raise context.error(
            f"pass {number}, {span}, starts before the track begins; {recorded}; "
            "start the recording before the pass",
            line,
            "start",
        )
    if end_s > last + STANDING_SLACK_S and passes[best].end.found != "stopped":
        raise context.error(
            f"pass {number}, {span}, ends after the track does; {recorded}",
            line,
            "end",
        )
    return passes[best]


def _mark(found: Pass, instant_s: float, resolution_s: float, *, at_start: bool) -> CountedEnd:
    """Where a count begins or ends, from the sheet's instant and the end found in the track."""
    end = found.start if at_start else found.end
    beyond = end.time_s - instant_s if at_start else instant_s - end.time_s
    slack = STANDING_SLACK_S + resolution_s / 2
    for begin, until in found.stops:
        # read in standing on the way: the place is that of the stop
        if begin - slack <= instant_s <= until + slack and not (
            end.found == "stopped" and beyond > -slack
        ):
            middle = min(max(instant_s, begin), until)
            return CountedEnd(time_s=middle, found="turn sheet")
    instant_std_s = hypot(resolution_s / sqrt(12), REACTION_STD_S if resolution_s >= 1 else 0.0)
    if end.found == "stopped":
        if beyond > -slack:
            stood = any(a - slack <= instant_s <= b + slack for a, b in _stands_at(found, end))
            return end_as_found(end, confirmed=stood)
        return CountedEnd(time_s=instant_s, found="turn sheet", instant_std_s=instant_std_s)
    speed = max(found.length_m / max(found.end.time_s - found.start.time_s, 1e-9), 0.1)
    from_sheet_m = speed * instant_std_s
    reach_s = 3 * hypot(end.std_m, from_sheet_m) / speed + slack
    if beyond > reach_s or from_sheet_m > end.std_m:
        return end_as_found(end)
    return CountedEnd(time_s=instant_s, found="turn sheet", instant_std_s=instant_std_s)


def _stands_at(found: Pass, end: PassEnd) -> list[tuple[float, float]]:
    """The standing that holds an end of a pass, if any."""
    return [(a, b) for a, b in found.stops if a <= end.time_s <= b]
