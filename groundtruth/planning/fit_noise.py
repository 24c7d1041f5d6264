"""Noise parameters of a phone from a track of some minutes, standing or driving."""

from __future__ import annotations

import numpy as np

from ..core.errors import MeasureError
from ..core.plane import plane_about
from ..core.track import Track
from ..estimator import Stretch, make_stretch
from ..estimator.estimate import fit_day
from ..passes import find_passes
from .phone_kinds import NoiseEnsemble

STANDING_WITHIN_M = 35.0
"""A track whose positions stay within this was recorded standing: metres of wander, no bed."""
SHORTEST_S = 120.0
LONGEST_S = 1200.0
"""Of a longer standing track the beginning is used: the rest adds little and takes long, s."""
LEAST_FRESH = 40
MOST_FITTED = 12


def noise_from_track(track: Track) -> NoiseEnsemble:
    """An ensemble of noise parameters, weighted by how well they explain the track.

    Driven tracks need straight passes. Of standing ones the fixes that repeat the position before
    them say nothing, and few may be left.

    Raises
    ------
    MeasureError : the track is too short, holds no straight pass, or hardly any fresh position.
    """
    lasted = float(track.time_s[-1] - track.time_s[0]) if len(track.time_s) else 0.0
    if lasted < SHORTEST_S:
        raise MeasureError(
            f"{track.called}: lasts {lasted:.0f} s; record five minutes (at least two) standing "
            "still, or driving straight passes"
        )
    plane = plane_about(track)
    east, north = plane.to_metres(track.longitude_deg, track.latitude_deg)
    extent = np.hypot(*(np.subtract(*np.percentile(v, [95, 5])) for v in (east, north)))
    if extent < STANDING_WITHIN_M:
        stretches, how = [_standing(track, east, north)], "standing"
        lasted = min(lasted, LONGEST_S)
    else:
        stretches, how = _driven(track, east, north), "driving"
    posterior = fit_day(stretches).posterior
    speed_known = bool(np.isfinite(track.speed_m_s).mean() > 0.5)
    return NoiseEnsemble(
        name=track.name,
        about=f"noise fitted to {lasted / 60:.0f} min of {how}",
        values=posterior.values,
        weight=posterior.weight,
        rate_hz=float(np.clip(1 / np.median(np.diff(track.time_s)), 0.02, 20.0)),
        doppler=speed_known,
    )


def _standing(track: Track, east: np.ndarray, north: np.ndarray) -> Stretch:
    fresh = 1 + int(np.count_nonzero((np.diff(east) != 0) | (np.diff(north) != 0)))
    if fresh < LEAST_FRESH:
        raise MeasureError(
            f"{track.called}: {fresh} different positions in {len(east)} fixes; this phone repeats "
            "itself while standing and shows no noise; record five minutes of straight passes"
        )
    kept = track.time_s <= track.time_s[0] + LONGEST_S
    # nothing moves: a pass at no speed, whose wander of speed is nothing either
    return make_stretch(
        track.time_s[kept],
        east[kept],
        north[kept],
        np.full(int(kept.sum()), np.nan),
        start_s=float(track.time_s[kept][0]),
        end_s=float(track.time_s[kept][-1]),
        name=track.name,
    )


def _driven(track: Track, east: np.ndarray, north: np.ndarray) -> list[Stretch]:
    found = find_passes(track, plane_about(track))
    if not found:
        raise MeasureError(
            f"{track.called}: holds no straight pass to judge the phone by; drive one or more "
            "straight lines of 60 m or longer at sowing speed, or let it stand for five minutes"
        )
    stretches = []
    for p in found[:MOST_FITTED]:
        part = slice(p.first, p.last + 1)
        stretches.append(
            make_stretch(
                track.time_s[part],
                east[part],
                north[part],
                track.speed_m_s[part],
                stops=p.stops,
                start_s=p.start.time_s,
                end_s=p.end.time_s,
                name=f"{track.name}, pass {p.number}",
            )
        )
    return stretches
