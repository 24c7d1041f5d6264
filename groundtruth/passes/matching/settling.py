"""Where the tractor stood at the ends of a pass, as the sheet's instants tell beside the track."""

from __future__ import annotations

from dataclasses import replace
from math import exp

import numpy as np

from .. import Pass, PassEnd
from .sheet_clock import end_log_density
from .types import STANDING_SLACK_S, MatchingContext

OUTER_S = 6.0
"""A stand began so much before, or lasted so much longer than the track shows for sure (judgement):
away from the bed a phone's drift and slow creeping look alike."""
FIXES_MISS_STANDS_S = 7.5
"""Fixes farther apart than this, s, often miss a stand (seen on simulated days with a fix in 8 to
15 s, seeds 600000 to 600129)."""
LEAST_FIXES = 4
"""A pass with fewer cannot be measured."""
READ_S = 2.0
"""The tractor stands for so long at least before and after a counter is read (judgement)."""


def settled(
    found: Pass, start_s: float, end_s: float, resolution_s: float, context: MatchingContext
) -> Pass:
    """The pass, standing at an end where track and sheet together make that the likelier.

    A counter is read anywhere in a stand but, on the move, about the lift: the sheet's instant has
    a density under either, and the track its odds (Bayes' rule).
    """
    for at_start, instant_s in ((True, start_s), (False, end_s)):
        stood = _standing(found, context, at_start=at_start)
        if stood is None:
            continue
        instant = np.array([instant_s])
        end = found.start if at_start else found.end
        assert end.stand is not None
        begin_s, until_s = end.stand.span_s
        wide = (begin_s - OUTER_S, until_s) if at_start else (begin_s, until_s + OUTER_S)
        read = replace(stood, stops=(wide,))
        if_stood, if_rolled = (
            float(end_log_density(p, instant, resolution_s, at_start=at_start, under_way=False)[0])
            for p in (read, found)
        )
        log_odds = end.stand.log_odds + if_stood - if_rolled
        if log_odds <= 0:
            continue
        now = stood.start if at_start else stood.end
        apart_m = found.speed_m_s * abs(now.time_s - end.time_s)
        std_m = float(np.hypot(now.std_m, apart_m * exp(-0.5 * np.logaddexp(0.0, log_odds))))
        now = replace(now, std_m=std_m, stood_std_m=std_m)
        found = replace(stood, start=now) if at_start else replace(stood, end=now)
    return found


def _standing(found: Pass, context: MatchingContext, *, at_start: bool) -> Pass | None:
    """The pass as it is if the tractor stood at an end that was found on the move."""
    end = found.start if at_start else found.end
    if end.stand is None:
        return None
    stand = end.stand
    now = PassEnd(time_s=stand.time_s, found="stopped", std_m=stand.std_m, stood_std_m=stand.std_m)
    other = found.end if at_start else found.start
    longer_s = end.time_s - now.time_s if at_start else now.time_s - end.time_s
    if abs(now.time_s - other.time_s) < 0.5 * abs(end.time_s - other.time_s):
        return None  # the rest would be no pass
    time_s = context.track.time_s
    first, last = np.searchsorted(time_s, stand.span_s).tolist()
    stops = sorted((*found.stops, stand.span_s))
    return replace(
        found,
        first=first if at_start else found.first,
        last=found.last if at_start else min(last, len(time_s) - 1),
        start=now if at_start else found.start,
        end=found.end if at_start else now,
        length_m=found.length_m + found.speed_m_s * longer_s,
        stops=tuple(stops),
    )


def stood_when_read(
    found: Pass, start_s: float, end_s: float, resolution_s: float, context: MatchingContext
) -> Pass:
    """The pass, standing when its counters were read, where fixes are too seldom to show it.

    Between two such fixes a stand is put anywhere; the sheet says when the tractor still stood at
    the start, and when it did at the end already, unless its instants are coarse themselves.
    """
    time_s, interval_s = context.track.time_s, context.interval_s
    if interval_s < FIXES_MISS_STANDS_S or resolution_s > 2 * READ_S:
        return found
    for at_start, instant_s in ((True, start_s), (False, end_s)):
        end = found.start if at_start else found.end
        inside_s = instant_s - end.time_s if at_start else end.time_s - instant_s
        if end.found != "stopped" or not 0 < inside_s < interval_s + STANDING_SLACK_S:
            continue
        stand = (instant_s - READ_S, instant_s + READ_S)
        from_stand, after_stand = np.searchsorted(time_s, stand).tolist()
        first = max(found.first, from_stand) if at_start else found.first
        last = found.last if at_start else min(found.last, after_stand - 1)
        if last - first + 1 < LEAST_FIXES:
            continue
        others = (s for s in found.stops if not s[0] <= end.time_s <= s[1])
        now = replace(end, time_s=instant_s)
        found = replace(
            found,
            first=first,
            last=last,
            start=now if at_start else found.start,
            end=found.end if at_start else now,
            stops=tuple(sorted((*others, stand))),
        )
    return found
