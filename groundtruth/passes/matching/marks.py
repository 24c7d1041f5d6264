"""Where a count begins and ends: the sheet's instants beside the ends found in the track."""

from __future__ import annotations

from math import hypot, sqrt

import numpy as np

from ...core.findings import Finding, FindingKind
from ...core.plane import Axis, Plane
from ...core.turns import TurnCount
from .. import Pass, PassEnd
from .types import STANDING_SLACK_S, CountedEnd, MatchingContext, end_as_found

REACTION_STD_S = 1.0
"""An instant noted by hand on the move is late or early by this much, standard deviation, s
(common practice, no source); instants written to fractions of a second come from a device."""
RAN_ON_S = 20.0
RAN_ON_M = 15.0
"""The tractor went on in line for so long and so far after an end that was found."""
ASIDE = 0.2
"""In line is at most this share of the way aside,"""
STEADY = (0.75, 1.3)
"""and at the working speed as long a way as it makes in that time, between these factors."""
COARSE_S = 30.0
"""Instants read to such steps only say which pass is meant."""


def mark_of(
    found: Pass, instant_s: float, resolution_s: float, context: MatchingContext, *, at_start: bool
) -> CountedEnd:
    """Where a count begins or ends, from the sheet's instant and the end found in the track.

    An instant far outside a pass that ended on the move was noted late, on the headland; unless
    the tractor drove straight on until then, and the pass was found too short.
    """
    end = found.start if at_start else found.end
    if resolution_s >= COARSE_S:
        return end_as_found(end)
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
    if from_sheet_m > end.std_m:
        return end_as_found(end)
    if beyond > reach_s and not _in_line(found, end.time_s, instant_s, speed, context):
        return end_as_found(end)
    return CountedEnd(time_s=instant_s, found="turn sheet", instant_std_s=instant_std_s)


def _stands_at(found: Pass, end: PassEnd) -> list[tuple[float, float]]:
    """The standing that holds an end of a pass, if any."""
    return [(a, b) for a, b in found.stops if a <= end.time_s <= b]


def _in_line(
    found: Pass, end_s: float, instant_s: float, speed_m_s: float, context: MatchingContext
) -> bool:
    """Whether the tractor went straight on at its working speed from an end to an instant."""
    along, across = _gone(found, end_s, instant_s, context)
    whole = speed_m_s * abs(instant_s - end_s)
    return STEADY[0] * whole < along < STEADY[1] * whole and abs(across) < ASIDE * along


def _gone(
    found: Pass, end_s: float, instant_s: float, context: MatchingContext
) -> tuple[float, float]:
    """Way outwards and aside from an end of a pass until an instant. [m]"""
    track = context.track
    lon = np.interp([end_s, instant_s], track.time_s, track.longitude_deg)
    lat = np.interp([end_s, instant_s], track.time_s, track.latitude_deg)
    plane = Plane(longitude_deg=float(lon[0]), latitude_deg=float(lat[0]))
    (_, east), (_, north) = plane.to_metres(lon, lat)
    axis = Axis.towards(found.axis_deg)
    along = float(axis.along(east, north)) * (-1.0 if instant_s < end_s else 1.0)
    return along, float(axis.across(east, north))


def drove_on(
    found: Pass, count: TurnCount, resolution_s: float, context: MatchingContext
) -> Finding | None:
    """That the tractor drove straight on between an end of the pass and the sheet's instant,
    None where it did not.

    Then the pass was cut short, or the count was noted elsewhere than at the end.
    """
    if count.start_s is None or count.end_s is None:
        return None
    for end, instant_s, sign in ((found.start, count.start_s, -1.0), (found.end, count.end_s, 1.0)):
        late_s = sign * (instant_s - end.time_s)
        if late_s < RAN_ON_S + resolution_s:
            continue
        along, across = _gone(found, end.time_s, instant_s, context)
        if along > RAN_ON_M and abs(across) < ASIDE * along:
            return Finding(
                kind=FindingKind.DROVE_ON,
                passes=(count.pass_number,),
                end="start" if sign < 0 else "end",
                from_s=min(end.time_s, instant_s),
                until_s=max(end.time_s, instant_s),
                along_m=along,
            )
    return None
