"""Find the passes of a day: rough search, position error, ends, stops on the way."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from math import hypot, sqrt

import numpy as np
from numpy.typing import NDArray

from ..core.plane import Axis, Plane, plane_about
from ..core.track import Track
from .candidate_selection import USUAL_M_S, candidate_legs
from .day_prior import DayEvidence, decide_ends
from .end_decision import FoundEnd
from .end_likelihood import INSIDE_M, Evidence, end_evidence
from .legs import SHORTEST_M, Leg
from .position_error import (
    HIDDEN_BESIDE_SPEEDS_M,
    ErrorCovariance,
    fit_position_error,
    fit_speed_error,
)
from .resampling import PlaneTrack, resampled, without_breaks
from .stops import (
    OTHER_SPEED,
    changes_of_speed,
    cruising_speeds,
    stops_on_the_way,
    without_long_stands,
)
from .types import Pass, PassEnd

Array = NDArray[np.float64]

WELL_INSIDE_M = 20.0
"""So far from the rough end the working line has begun, even where the tractor paused first."""
SAME_DEG = 2e-7
"""Fixes put into a silence lie no farther apart than this, 2 cm."""
LONGEST_WINDOW_S = 100.0
"""A pause before the bed is looked at for as long as this, besides the time of driving."""


def find_passes(track: Track, plane: Plane | None = None) -> tuple[Pass, ...]:
    """The straight working passes of a track, in order of time.

    Told apart are the drive to the field, headland turns, breaks and stops. A pass is straight or
    gently bowed, at least some 20 m long, and driven at the day's working speed; passes lie side
    by side unless there is only one. Each end says how it was found and how well.

    ``plane`` are metres about the track, made here where nobody has them yet.
    """
    fixes = without_breaks(resampled(track, plane or plane_about(track), 1.0))
    alternatives = candidate_legs(fixes)
    if not alternatives:
        return ()
    if len(alternatives[0]) == 1:
        alternatives = [part for (leg,) in alternatives for part in _parts(fixes, leg)]
    days = [evidence_of_ends(fixes, legs) for legs in alternatives]
    day = max(days, key=DayEvidence.likelihood) if len(days) > 1 else days[0]
    starts, ends = decide_ends(day)
    passes = [
        _as_pass(track, fixes, leg, start, end, on_way)
        for leg, start, end, on_way in zip(day.legs, starts, ends, day.stops, strict=True)
    ]
    long_enough = [p for p in passes if p.length_m >= SHORTEST_M]
    return tuple(replace(p, number=k) for k, p in enumerate(long_enough, start=1))


def evidence_of_ends(fixes: PlaneTrack, legs: list[Leg]) -> DayEvidence:
    """Stops on the way and evidence about the ends of all legs."""
    spans = [(leg.begin_s, leg.end_s) for leg in legs]
    position_error = fit_position_error(fixes, spans)
    speed_error = fit_speed_error(fixes, spans)
    if speed_error is not None:
        position_error = replace(position_error, hidden_std_m=HIDDEN_BESIDE_SPEEDS_M)
    speeds = cruising_speeds(fixes, legs, position_error)
    legs = [replace(leg, speed_m_s=v) for leg, v in zip(legs, speeds, strict=True)]
    stops = [stops_on_the_way(fixes, leg, position_error) for leg in legs]
    usual = float(np.median([leg.speed_m_s for leg in legs]))
    thinned = without_long_stands(fixes, usual, position_error)
    sides = []
    for at_end, seen in ((False, thinned), (True, _mirrored(thinned))):
        leg_ends_s = np.sort([_seen(leg.begin_s, leg.end_s, at_end)[1] for leg in legs])
        sides.append(
            [
                _evidence(
                    seen, leg, (position_error, speed_error), leg_ends_s, on_way, at_end=at_end
                )
                for leg, on_way in zip(legs, stops, strict=True)
            ]
        )
    return DayEvidence(
        legs=legs, position_error=position_error, stops=stops, starts=sides[0], ends=sides[1]
    )


def _parts(fixes: PlaneTrack, leg: Leg) -> list[list[Leg]]:
    """A lone leg, and its parts before and after each stop or change of speed: a drive may lead
    on in line."""
    position_error = fit_position_error(fixes, [(leg.begin_s, leg.end_s)])
    bounds = [leg.begin_s, leg.end_s]
    # against the speed of a drive the whole bed would seem to be standing
    slow = replace(leg, speed_m_s=min(leg.speed_m_s, USUAL_M_S))
    for stop in stops_on_the_way(fixes, slow, position_error):
        bounds += [0.5 * (stop[0] + stop[1])]
    changes = changes_of_speed(fixes, leg, position_error)
    along = leg.axis.along(*fixes.xy_m)
    sense = 1.0 if leg.along_m[1] > leg.along_m[0] else -1.0
    parts = []
    for begin, end in combinations(sorted(bounds + changes), 2):
        if any(begin < change < end for change in changes):
            continue
        place = np.interp([begin, end], fixes.time_s, along)
        if place[1] - place[0] >= SHORTEST_M:
            reached = (sense * float(place[0]), sense * float(place[1]))
            part = replace(leg, begin_s=begin, end_s=end, along_m=reached)
            parts.append((cruising_speeds(fixes, [part], position_error)[0], part))
    # on one line the slower stretch is the pass and the faster one the drive
    slowest = min((pace for pace, _ in parts), default=0.0)
    kept = [part for pace, part in parts if not changes or pace < slowest * OTHER_SPEED]
    return [[part] for part in kept or [leg]]


def _evidence(
    fixes: PlaneTrack,
    leg: Leg,
    errors: tuple[ErrorCovariance, ErrorCovariance | None],
    leg_ends_s: Array,
    on_way: list[tuple[float, float]],
    *,
    at_end: bool,
) -> Evidence | None:
    """Evidence about one end of a leg, None where the window holds too few fixes.

    ``fixes`` are mirrored where it is the leg's end; ``leg_ends_s`` are when legs end, seen so, in
    order.
    """
    begin, end = _seen(leg.begin_s, leg.end_s, at_end)
    before = int(np.searchsorted(leg_ends_s, begin))
    previous = float(leg_ends_s[before - 1]) if before else -np.inf
    half, well_inside = _on_the_way(fixes, leg, begin, end)
    speed = leg.speed_m_s
    inner = min(max(begin + 18.0 + 20.0 / speed, well_inside), half)
    for stop in on_way:  # slowing down before a stop is no part of this end
        inner = min(inner, _seen(*stop, at_end)[0] - 3.0)
    outer = max(begin - 25.0 - 8.0 / speed, previous, inner - LONGEST_WINDOW_S - 28.0 / speed)
    a, b = np.searchsorted(fixes.time_s, [outer, inner]).tolist()
    a = min(a, max(b - 4, 0))
    part = fixes.cut(a, b - 1)
    if len(part.time_s) < 4:
        return None
    # where the recording begins on the bed the rough end lies inside it, not outside
    along = leg.axis.along(*part.xy_m)
    from_edge = float(np.interp(begin, part.time_s, along) - along[0]) if a == 0 else np.inf
    on_bed = from_edge < 8.0
    inwards = -from_edge if on_bed else INSIDE_M
    return end_evidence(
        part, leg.axis, leg.speed_m_s, *errors, begin, inwards, recorded_on_bed=on_bed
    )


def _on_the_way(fixes: PlaneTrack, leg: Leg, begin_s: float, end_s: float) -> tuple[float, float]:
    """When half the way was first made, and when the leg was `WELL_INSIDE_M` from its rough begin.

    By place, not by time: time may lie in standing at either end.
    """
    first = int(np.searchsorted(fixes.time_s, begin_s))
    last = int(np.searchsorted(fixes.time_s, end_s, side="right"))
    inside = first + np.flatnonzero(~fixes.jump[first:last])
    along = leg.axis.along(*fixes.xy_m[:, inside])
    if len(along) < 2:
        return 0.5 * (begin_s + end_s), begin_s
    half = 0.5 * (along[-1] - along[0])
    reached = along - along[0]
    made = [int(np.argmax(reached > min(x, half))) for x in (half, WELL_INSIDE_M)]
    half_s, well_inside_s = fixes.time_s[inside[made]].tolist()
    return half_s, well_inside_s


def _seen(begin_s: float, end_s: float, backwards: bool) -> tuple[float, float]:
    """An interval as it is, or on a clock that runs backwards."""
    return (-end_s, -begin_s) if backwards else (begin_s, end_s)


def _mirrored(fixes: PlaneTrack) -> PlaneTrack:
    """The fixes with time running backwards and places turned about, so that an end is a start."""
    return PlaneTrack(
        time_s=-fixes.time_s[::-1],
        xy_m=-fixes.xy_m[:, ::-1],
        speed_m_s=fixes.speed_m_s[::-1],
        frozen=fixes.frozen[::-1],
        jump=fixes.jump[::-1],
    )


def _as_pass(
    track: Track,
    fixes: PlaneTrack,
    leg: Leg,
    start: FoundEnd | None,
    end: FoundEnd | None,
    on_way: list[tuple[float, float]],
) -> Pass:
    """Put a pass together from its two ends."""
    begin, begin_stood = end_of(track, leg, start, at_end=False)
    done, done_stood = end_of(track, leg, end, at_end=True)
    from_s = begin_stood[0] if begin_stood else begin.time_s
    to_s = done_stood[1] if done_stood else done.time_s
    stops = tuple(stop for stop in (begin_stood, *on_way, done_stood) if stop is not None)
    return pass_along(track, fixes, leg.axis, (begin, done), (from_s, to_s), stops)


def pass_along(
    track: Track,
    fixes: PlaneTrack,
    axis: Axis,
    ends: tuple[PassEnd, PassEnd],
    span_s: tuple[float, float],
    stops: tuple[tuple[float, float], ...],
) -> Pass:
    """The pass between two ends along an axis; ``span_s`` is its time with the standing at them.

    Its number is 0: passes are numbered when all are known.
    """
    first, last = np.searchsorted(track.time_s, span_s).tolist()
    last = min(last, len(track) - 1)
    start, end = ends
    reach = np.interp([start.time_s, end.time_s], fixes.time_s, axis.along(*fixes.xy_m))
    return Pass(
        number=0,
        first=min(first, last - 1),
        last=last,
        start=start,
        end=end,
        axis_deg=axis.bearing_deg,
        length_m=float(reach[1] - reach[0]),
        stops=stops,
    )


def end_of(
    track: Track, leg: Leg, found: FoundEnd | None, *, at_end: bool
) -> tuple[PassEnd, tuple[float, float] | None]:
    """One end in real time, with its standing."""
    edge = float(track.time_s[-1] if at_end else track.time_s[0])
    if found is None:
        instant = leg.end_s if at_end else leg.begin_s
        return PassEnd(time_s=instant, found="rolling", std_m=5.0), None
    sign = -1.0 if at_end else 1.0
    instant = sign * found.instant_s
    stand = replace(
        found.stand,
        span_s=_silence_about(track, instant, _seen(*found.stand.span_s, at_end)),
        time_s=sign * found.stand.time_s,
        std_m=hypot(found.stand.std_m, (track.written_every_m or 0.0) / sqrt(12)),
    )
    if found.stood:
        std_m = hypot(found.std_m, (track.written_every_m or 0.0) / sqrt(12))
        end = PassEnd(
            time_s=_inside(track, instant), found="stopped", std_m=std_m, stood_std_m=stand.std_m
        )
        return end, stand.span_s
    if abs(sign * found.on_line_s - edge) < 0.5 or abs(instant - edge) < 2.0:
        return PassEnd(time_s=edge, found="track ends", std_m=found.std_m), None
    rolled = _inside(track, instant)
    return PassEnd(time_s=rolled, found="rolling", std_m=found.std_m, stand=stand), None


def _silence_about(
    track: Track, instant_s: float, span_s: tuple[float, float]
) -> tuple[float, float]:
    """The part of a stand in which a recorder that waits for movement wrote nothing.

    To such a recorder a fix of its own is movement, by the tractor or by the error. Of any other
    recorder, and where it was not silent about the instant, all of the stand.
    """
    if track.written_every_m is None:
        return span_s
    at = int(np.argmin(np.abs(track.time_s - instant_s)))
    repeats = np.abs(np.diff(track.latitude_deg)) + np.abs(np.diff(track.longitude_deg)) < SAME_DEG
    first = last = at
    while first > 0 and repeats[first - 1]:
        first -= 1
    while last < len(repeats) and repeats[last]:
        last += 1
    begin_s, until_s = (float(t) for t in track.time_s[[first, last]])
    part = max(begin_s, span_s[0]), min(until_s, span_s[1])
    return part if part[1] > part[0] else span_s


def _inside(track: Track, instant_s: float) -> float:
    """The instant, or the edge of the track where it lies beyond. [s]"""
    return min(max(instant_s, float(track.time_s[0])), float(track.time_s[-1]))
