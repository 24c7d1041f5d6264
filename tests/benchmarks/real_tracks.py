"""The measurement model on real logs: do its prediction errors whiten, do halves add up?

    python tests/benchmarks/real_tracks.py

For each straight stretch: standardised one-step prediction errors along and across (root mean
square 1 and no autocorrelation where the model is right), and the length of the whole against the
sum of its two halves, measured each on its own. Nobody taped these stretches, so this checks
consistency, not truth. Where the logs come from: tests/data/logs/README.md.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from groundtruth.core.plane import plane_about
from groundtruth.estimator import ground_covered, make_stretch
from groundtruth.estimator.influence import influence_and_steps, influences
from groundtruth.estimator.outlier_blocks import set_aside, shifted_fixes
from groundtruth.estimator.priors import PARAMETERS
from groundtruth.io import read_track

LOGS = Path(__file__).parents[1] / "data" / "logs"
LEAST_FIXES = 16
SHORTEST_M = 60.0
STRAIGHT = 0.02
"""A stretch is straight where fixes stay within this share of its length of a line."""


@dataclass(frozen=True)
class Straight:
    log: str
    time_s: np.ndarray
    east_m: np.ndarray
    north_m: np.ndarray


def straight_stretches(name: str) -> list[Straight]:
    """The longest straight stretches of a log, found greedily, without pauses inside."""
    track = read_track(LOGS / name)
    east, north = plane_about(track).to_metres(track.longitude_deg, track.latitude_deg)
    found, first = [], 0
    while first + LEAST_FIXES <= len(track):
        last = first + LEAST_FIXES
        if not _is_straight(track.time_s, east, north, first, last):
            first += 1
            continue
        while last < len(track) and _is_straight(track.time_s, east, north, first, last + 1):
            last += 1
        part = slice(first, last)
        if np.hypot(east[last - 1] - east[first], north[last - 1] - north[first]) > SHORTEST_M:
            found.append(Straight(name, track.time_s[part], east[part], north[part]))
        first = last
    return found


def _is_straight(time, east, north, first, last) -> bool:
    xy = np.stack([east[first:last], north[first:last]], axis=1)
    steps = np.linalg.norm(np.diff(xy, axis=0), axis=1)
    gaps = np.diff(time[first:last])
    if gaps.max() > 30 or (steps / gaps).min() < 0.2:
        return False
    chord = xy[-1] - xy[0]
    length = float(np.linalg.norm(chord))
    across = np.abs((xy - xy[0]) @ np.array([-chord[1], chord[0]])) / max(length, 1e-9)
    return across.max() < STRAIGHT * max(length, SHORTEST_M)


def measured(s: Straight, part: slice):
    stretch = make_stretch(
        s.time_s[part],
        s.east_m[part],
        s.north_m[part],
        np.full(len(s.time_s[part]), np.nan),
        start_s=s.time_s[part][0],
        end_s=s.time_s[part][-1],
    )
    travel = ground_covered([stretch])
    return travel, stretch


def autocorrelation(x: np.ndarray, lag: int) -> float:
    x = x - x.mean()
    return float((x[lag:] * x[:-lag]).sum() / (x * x).sum())


def main() -> None:
    print(
        f"{'log':12} {'fixes':>5} {'aside':>5} {'every s':>7} {'length m':>9} {'u m':>6} |"
        f" {'along rms':>9} {'r1':>6} {'r2':>6} | {'across rms':>10} {'r1':>6} {'r2':>6} |"
        f" {'±2/√n':>6} | {'halves − whole':>14} {'z':>6}"
    )
    for name in ("boat.nmea", "car.gpx", "walk.gpx"):
        for s in straight_stretches(name):
            report(s)


def report(s: Straight) -> None:
    whole, stretch = measured(s, slice(None))
    parameters = np.array([whole.noise.get(p, 0.05) for p in PARAMETERS])
    _, steps = influence_and_steps(stretch, parameters, doppler=False)
    kept = set_aside(stretch, shifted_fixes(steps))
    errors = influences([kept], parameters, doppler=False)[0].innovations
    n, aside = len(errors), len(s.time_s) - len(errors)
    middle = len(s.time_s) // 2
    one, _ = measured(s, slice(0, middle + 1))
    two, _ = measured(s, slice(middle, None))
    difference = one.distance_m[0] + two.distance_m[0] - whole.distance_m[0]
    # halves and whole share their fixes; the variance of the difference is at least that of the
    # parts less that of the whole, and at most their sum
    var = one.covariance_m2[0, 0] + two.covariance_m2[0, 0] + whole.covariance_m2[0, 0]
    r = [[autocorrelation(errors[:, a], k) for k in (1, 2)] for a in (0, 1)]
    print(
        f"{s.log:12} {n:5d} {aside:5d} {np.median(np.diff(s.time_s)):7.1f}"
        f" {whole.distance_m[0]:9.2f} {whole.covariance_m2[0, 0] ** 0.5:6.2f} |"
        f" {errors[:, 0].std():9.2f} {r[0][0]:+6.2f} {r[0][1]:+6.2f} |"
        f" {errors[:, 1].std():10.2f} {r[1][0]:+6.2f} {r[1][1]:+6.2f} | {2 / n**0.5:6.2f} |"
        f" {difference:+14.2f} {difference / var**0.5:+6.2f}"
    )


if __name__ == "__main__":
    main()
