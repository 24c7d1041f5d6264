"""From counted passes to the ground under the wheel on each, with what its error is made of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.findings import Finding, FindingKind
from ..core.measured import rectangular_std
from ..core.plane import Plane, height_factor
from ..core.run import Beds
from ..core.track import Track
from ..core.uncertainty import UncertaintySource
from ..estimator import (
    EDGE_STD_S,
    DayTravel,
    HeightLine,
    Stretch,
    height_line,
    make_stretch,
    refined_stops,
    slope_factors,
    with_known_lengths,
)
from ..passes.matching import CountedPass
from ..stats.end_covariance import end_covariance
from .taped_lengths import credible_tapes

Array = NDArray[np.float64]

AROUND_MARK_S = 2.0
"""Fixes this far outside a mark that the turn sheet gives are used, s."""

ENOUGH_FIXES = 10
"""So many fixes on a pass with its stands show when the tractor moved off and came to stand (seen
on simulated days with a fix in 8 to 10 s, seeds 820 to 835)."""


def fixes_of(track: Track, counted: CountedPass) -> slice:
    """The fixes of a pass; where the sheet gives the mark, those about the marked ground.

    Beyond a mark on the move lies the headland turn, which is no straight line: nothing of it.
    """
    found, start, end = counted.found, counted.start, counted.end
    from_s, until_s = -np.inf, np.inf
    if start.found == "turn sheet":
        from_s = start.time_s - (AROUND_MARK_S if found.start.found == "stopped" else 0.0)
    if end.found == "turn sheet":
        until_s = end.time_s + (AROUND_MARK_S if found.end.found == "stopped" else 0.0)
    first = max(found.first, int(np.searchsorted(track.time_s, from_s)))
    last = min(found.last, int(np.searchsorted(track.time_s, until_s, side="right")) - 1)
    if start.found == "turn sheet":  # a mark outside the pass as found wins over it
        first = min(first, int(np.searchsorted(track.time_s, start.time_s)))
    if end.found == "turn sheet":
        last = max(last, int(np.searchsorted(track.time_s, end.time_s, side="right")) - 1)
    return slice(first, last + 1)


def stretch_of(track: Track, east: Array, north: Array, counted: CountedPass) -> Stretch:
    """The pass made ready for the model. ``east``, ``north`` (fixes,) are those of the track. [m]

    Raises
    ------
    MeasureError : too little was recorded on the pass.
    """
    part = fixes_of(track, counted)
    return make_stretch(
        track.time_s[part],
        east[part],
        north[part],
        track.speed_m_s[part],
        stops=refined_stops(track.time_s[part], east[part], north[part], counted.found.stops),
        start_s=counted.start.time_s,
        end_s=counted.end.time_s,
        wheel=counted.wheel,
        edge_std_s=EDGE_STD_S,
        accuracy_m=track.accuracy_m[part],
        fix_quality=track.fix_quality[part],
        name=f"pass {counted.number}",
    )


def _blurred_m(stretch: Stretch, counted: CountedPass) -> float:
    """Doubt about the stands of a pass that very few fixes leave on all passes alike. [m]

    Then the instants of moving off and coming to stand lie between two fixes, and are guessed in
    the same way on every pass.
    """
    if len(stretch.time_s) >= ENOUGH_FIXES:
        return 0.0
    stands = [m.found == "stopped" for m in (counted.start, counted.end)]
    one_m = stretch.rough_speed_m_s * stretch.interval_s / np.sqrt(12)
    return float(one_m * np.sqrt(sum(stands) / 2))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ground:
    """Ground under the wheel on each pass (passes,), the covariance of its error by source, each
    (passes, passes), and what was found on the way."""

    distance_m: Array
    covariance_m2: Mapping[UncertaintySource, Array]
    findings: tuple[Finding, ...]


def ground_under_wheel(
    track: Track,
    plane: Plane,
    stretches: Sequence[Stretch],
    counted: Sequence[CountedPass],
    travel: DayTravel,
    beds: Beds,
    clock_std_s: float = 0.0,
) -> Ground:
    """Ground on each pass by sources of error, JCGM 100:2008 style: what is common to the passes
    stands beside the diagonal. ``clock_std_s`` is what is not known of the sheet's clock."""
    heights = [_heights(track, s, c) for s, c in zip(stretches, counted, strict=True)]
    slopes = slope_factors(heights, travel.receiver)
    known = [h.mean_height_m for h in heights if h is not None]
    lift = height_factor(float(np.mean(known)), plane.latitude_deg) if known else 1.0
    factor = np.array(
        [s.value * w.value * lift for s, w in zip(slopes, travel.sinuosity, strict=True)]
    )
    distance = travel.distance_m * factor
    speed = np.array([s.rough_speed_m_s for s in stretches])
    marks = [(c.start, c.end) for c in counted]
    place_std = np.array([[m.place_std_m for m in pair] for pair in marks])
    rolling = np.array([[m.found == "rolling" for m in pair] for pair in marks])
    instant = np.array([c.start.instant_std_s**2 + c.end.instant_std_s**2 for c in counted])
    # a clock that is off moves a mark on the way, and both marks of a pass alike
    on_way = np.array([[m.found == "turn sheet" for m in pair] for pair in marks], dtype=float)
    by_clock = speed * clock_std_s * (on_way[:, 1] - on_way[:, 0])
    blurred = np.array([_blurred_m(s, c) for s, c in zip(stretches, counted, strict=True)])
    slope_std = distance * np.array([s.std for s in slopes])
    sinuosity_std = distance * np.array([w.std for w in travel.sinuosity])
    sources = {
        UncertaintySource.POSITION: travel.covariance_m2 * np.outer(factor, factor),
        UncertaintySource.ENDS: end_covariance(place_std, rolling) + np.outer(blurred, blurred),
        UncertaintySource.INSTANTS: np.diag(speed**2 * instant) + np.outer(by_clock, by_clock),
        # one field and one driver: these errors are common to the passes
        UncertaintySource.SLOPE: np.outer(slope_std, slope_std),
        UncertaintySource.WINDING: np.outer(sinuosity_std, sinuosity_std),
    }
    taped, common, tapes_off = credible_tapes(
        [c.taped for c in counted],
        beds.taped,
        distance,
        sum(sources.values(), start=np.zeros((len(counted), len(counted)))),
        counted,
    )
    distance, sources = with_known_lengths(
        distance,
        sources,
        taped=taped,
        common=common,
        alike_std_m=None if beds.alike_within_m is None else rectangular_std(beds.alike_within_m),
    )
    return Ground(
        distance_m=distance,
        covariance_m2=sources,
        findings=(*tapes_off, *_findings(counted, travel, heights_known=bool(known))),
    )


def _heights(track: Track, stretch: Stretch, counted: CountedPass) -> HeightLine | None:
    part = fixes_of(track, counted)
    height = track.height_m[part]
    if len(height) != len(stretch.time_s):  # thinned: take the heights at the kept instants
        known = np.isfinite(height)
        if known.sum() < 2:
            return None
        height = np.interp(stretch.time_s, track.time_s[part][known], height[known])
    return height_line(stretch.along_m, height, counted.found.axis_deg)


def _findings(
    counted: Sequence[CountedPass], travel: DayTravel, *, heights_known: bool
) -> tuple[Finding, ...]:
    found = []
    jumped = sum(travel.set_aside)
    if jumped:
        numbers = (c.number for c, n in zip(counted, travel.set_aside, strict=True) if n)
        found.append(Finding(kind=FindingKind.JUMPED, passes=tuple(numbers), fixes=jumped))
    if not heights_known:
        found.append(Finding(kind=FindingKind.NO_HEIGHTS))
    if travel.evidence is not None:
        found.append(Finding(kind=FindingKind.CENTIMETRE_RECEIVER, evidence=travel.evidence))
    return tuple(found)
