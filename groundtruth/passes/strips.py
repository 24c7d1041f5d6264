"""Strips of the track that a person says are passes: given by two instants, or by two places."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import product

import numpy as np
from numpy.typing import NDArray

from ..core.errors import MeasureError
from ..core.language import fixed
from ..core.plane import Axis, plane_about
from ..core.track import Track
from .day_prior import decide_ends
from .find import end_of, evidence_of_ends, pass_along
from .legs import Leg
from .resampling import PlaneTrack, resampled
from .types import Pass, PassEnd

Array = NDArray[np.float64]

LEAST_M = 5.0
"""A shorter strip says nothing: a phone's error is as large."""
ASIDE_M, ASIDE_SHARE = 5.0, 0.1
"""A strip strays at most so far, or by this share of its length, from the line between its ends:
a bed may bow and a phone drift, a headland turn does neither (judgement)."""
INSIDE_M = 6.0
"""The working line is looked for so far inside the ends."""
STANDING_S, STANDING_M = 3.0, 4.0
"""An instant this close to a stand, or a place on its outer side, is that of the stand."""
ON_THE_MOVE_M = 2.0
"""An end that a person gives on the move is good to so much, standard deviation (judgement)."""
FINGER_M = 10.0
"""A finger on a map lies so far from the track, or farther than from its nearest point
(judgement)."""
TOO_FAR_M = 60.0


def pass_between(track: Track, start_s: float, end_s: float, *, number: int = 1) -> Pass:
    """The strip of the track between two instants as a pass, s since 1970 UTC.

    Its ends are taken as given. Where the track shows that the tractor stood there, the end is
    that stand, whose place is known better; else it is good to `ON_THE_MOVE_M`.

    Raises
    ------
    MeasureError : the strip is not recorded, too short, or turns.
    """
    fixes = resampled(track, plane_about(track), 1.0)
    leg = _leg(fixes, start_s, end_s)
    found, stops = _ends(track, fixes, leg)
    ends, stood = [], []
    for given_s, (end, span), at_end in zip((start_s, end_s), found, (False, True), strict=True):
        if span is not None and _standing(fixes, leg, given_s, end, span, at_end=at_end):
            ends.append(end)
            stood.append(span)
        else:
            ends.append(PassEnd(time_s=given_s, found="turn sheet", std_m=ON_THE_MOVE_M))
    start, end = ends
    from_s = min([start.time_s, *(a for a, b in stood if a <= start.time_s <= b)])
    to_s = max([end.time_s, *(b for a, b in stood if a <= end.time_s <= b)])
    stops = sorted((*stops, *stood))
    one = pass_along(track, fixes, leg.axis, (start, end), (from_s, to_s), tuple(stops))
    return replace(one, number=number)


def strip_between(
    track: Track,
    one: tuple[float, float],
    other: tuple[float, float],
    taken: Sequence[tuple[float, float]] = (),
) -> tuple[float, float]:
    """The instants between which the track runs straight from one place to the other, in whole s.

    The places are (longitude, latitude) in degrees, in either order, near the track. Where the
    track comes by a place several times, the straightest way between the two counts, rather one
    outside the spans of time that other passes have ``taken``. An end near a stand is put into it.

    Raises
    ------
    MeasureError : a place lies far from the track, or no straight way leads between the two.
    """
    plane = plane_about(track)
    fixes = resampled(track, plane, 1.0)
    places = np.column_stack(plane.to_metres(*np.transpose([one, other])))
    best: tuple[float, float, float, Leg] | None = None
    for (one_s, one_m), (other_s, other_m) in product(*(_visits(fixes, p) for p in places)):
        start_s, end_s = sorted((one_s, other_s))
        try:
            leg = _leg(fixes, start_s, end_s)
        except MeasureError:
            continue
        cost = one_m + other_m + _astray_m(fixes, leg, start_s, end_s)
        cost += FINGER_M * any(overlaps((start_s, end_s), span) for span in taken)
        if best is None or cost < best[0]:
            best = cost, start_s, end_s, leg
    if best is None:
        raise MeasureError(
            "no straight way of the track leads from one place to the other; choose both ends of "
            "one pass, or write its times"
        )
    given, leg = best[1:3], best[3]
    along, time = leg.axis.along(*fixes.xy_m), fixes.time_s
    instants = []
    for given_s, (end, span) in zip(given, _ends(track, fixes, leg)[0], strict=True):
        apart = np.diff(np.interp([given_s, end.time_s], time, along))
        near = span is not None and abs(float(apart[0])) < FINGER_M / 2
        instants.append(end.time_s if near else given_s)
    first, last = np.ceil(track.time_s[0]), np.floor(track.time_s[-1])
    start_s, end_s = (float(min(max(round(at), first), last)) for at in instants)
    return start_s, end_s


def overlaps(one: tuple[float, float], other: tuple[float, float]) -> bool:
    """Whether two spans of time are partly the same, by more than a tenth of the shorter one."""
    shared = min(one[1], other[1]) - max(one[0], other[0])
    return shared > 0.1 * min(one[1] - one[0], other[1] - other[0])


def _leg(fixes: PlaneTrack, start_s: float, end_s: float) -> Leg:
    """The straight leg between two instants.

    Raises
    ------
    MeasureError : there is none.
    """
    keep = ~fixes.jump
    time, xy = fixes.time_s[keep], fixes.xy_m[:, keep]
    if not time[0] - 1 <= start_s < end_s <= time[-1] + 1:
        raise MeasureError("the strip lies outside the recording, or ends before it starts")
    (east, east_end), (north, north_end) = (np.interp([start_s, end_s], time, row) for row in xy)
    length = float(np.hypot(east_end - east, north_end - north))
    inside = (time >= start_s) & (time <= end_s)
    if length < LEAST_M or inside.sum() < 4:
        raise MeasureError(f"the strip is too short: {fixed(length, 0)} m, {inside.sum()} fixes")
    axis = Axis(float(east_end - east) / length, float(north_end - north) / length)
    begin_m = float(axis.along(east, north))
    along = axis.along(*xy[:, inside])
    margin = min(INSIDE_M, length / 4)
    begun = time[inside][np.argmax(along > begin_m + margin)]
    done = time[inside][len(along) - 1 - np.argmax(along[::-1] < begin_m + length - margin)]
    leg = Leg(
        begin_s=float(begun),
        end_s=float(max(done, begun + 1.0)),
        axis=axis,
        along_m=(begin_m + margin, begin_m + length - margin),
        across_m=float(axis.across(east, north)),
        drift_rad=0.0,
        speed_m_s=max((length - 2 * margin) / max(float(done - begun), 1.0), 0.1),
    )
    if _astray_m(fixes, leg, start_s, end_s) > max(ASIDE_M, ASIDE_SHARE * length):
        raise MeasureError("the strip is not straight; mark each pass by itself, without its turn")
    return leg


def _astray_m(fixes: PlaneTrack, leg: Leg, start_s: float, end_s: float) -> float:
    """How far the track strays between two instants from the line between them. [m]"""
    inside = ~fixes.jump & (fixes.time_s >= start_s) & (fixes.time_s <= end_s)
    along, across = leg.axis.along(*fixes.xy_m), leg.axis.across(*fixes.xy_m)
    ends = np.interp([start_s, end_s], fixes.time_s, along)
    aside = np.abs(across[inside] - leg.across_m).max()
    beyond = max(float(ends[0] - along[inside].min()), float(along[inside].max() - ends[1]))
    return float(max(aside, beyond))


def _ends(
    track: Track, fixes: PlaneTrack, leg: Leg
) -> tuple[list[tuple[PassEnd, tuple[float, float] | None]], list[tuple[float, float]]]:
    """Both ends by the track, with the standing there if there is any, and the stops on the way."""
    day = evidence_of_ends(fixes, [leg])
    ends = [
        end_of(track, leg, side[0], at_end=at_end)
        for side, at_end in zip(decide_ends(day), (False, True), strict=True)
    ]
    return ends, day.stops[0]


def _standing(
    fixes: PlaneTrack,
    leg: Leg,
    given_s: float,
    end: PassEnd,
    span: tuple[float, float],
    *,
    at_end: bool,
) -> bool:
    """Whether a given instant is one of the standing at an end, or of a longer one around it."""
    if span[0] - STANDING_S <= given_s <= span[1] + STANDING_S:
        return True
    outside = given_s > span[1] if at_end else given_s < span[0]
    east, north = (np.interp([given_s, end.time_s], fixes.time_s, row) for row in fixes.xy_m)
    return outside and bool(np.hypot(np.diff(east), np.diff(north))[0] < STANDING_M)


def _visits(fixes: PlaneTrack, place: Array) -> list[tuple[float, float]]:
    """When the track came by a place, and how far from it. [s, m]

    Raises
    ------
    MeasureError : it never did.
    """
    keep = ~fixes.jump
    away = np.hypot(*(fixes.xy_m[:, keep] - place[:, None]))
    nearest = float(away.min())
    if nearest > TOO_FAR_M:
        raise MeasureError(f"the track comes no nearer than {nearest:.0f} m to the place")
    close = away <= nearest + FINGER_M
    bounds = np.flatnonzero(np.diff(np.concatenate([[0], close.astype(np.int8), [0]])))
    lowest = [a + int(np.argmin(away[a:b])) for a, b in bounds.reshape(-1, 2).tolist()]
    return [(float(fixes.time_s[keep][k]), float(away[k])) for k in lowest]
