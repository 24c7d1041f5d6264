"""How the errors of real phones are shaped, and how those of simulated phones are.

    python -m tests.benchmarks.error_shape FOLDER [--half tune] [--days 12]

One line a make of the folder (see `error_series`) and one a simulated phone: the change of the
error on one axis over so many seconds, rms of a piece; kurtosis of its steps of a second (3 is
normal); the largest rms of a minute over the least; the share of fixes that repeat the place before
while the carrier stands; the share of fixes one second late. Medians of the pieces; shares, means.
Errors of simulated phones are those of whole days, without jumps or gaps.
"""

from __future__ import annotations

import argparse
from collections import defaultdict
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from groundtruth.core.plane import height_factor
from groundtruth.simulation import SCENARIOS, simulate_day

from .error_series import HALVES, HELD_M, STANDS_M_S, Series, read_series

Array = NDArray[np.float64]

PHONES = ("ordinary phone", "calm phone", "drifting phone", "rough phone", "bad phone")
LAPSES_S = (1, 10, 30, 60, 120)


def change(time_s: Array, error: Array, lapse_s: float) -> Array:
    """Changes of the error (2, n) over a lapse, from every instant that has a fix that late."""
    later = np.searchsorted(time_s, time_s + lapse_s - 0.3)
    begin = np.flatnonzero(later < len(time_s))
    begin = begin[np.abs(time_s[later[begin]] - time_s[begin] - lapse_s) < 0.3]
    return np.asarray(error[:, later[begin]] - error[:, begin])


def shape(s: Series) -> Array:
    """Figures of one piece, in the order of the table."""
    usual = ~s.stale
    time_s, error = s.time_s[usual], np.stack([s.east_m, s.north_m])[:, usual]
    changes = [np.sqrt(np.mean(change(time_s, error, lapse) ** 2)) for lapse in LAPSES_S]
    steps = change(time_s, error, 1.0)
    minutes = [
        error[:, part].std(axis=1)
        for begin in np.arange(time_s[0], time_s[-1] - 60, 60)
        if (part := (time_s >= begin) & (time_s < begin + 60)).sum() > 30
    ]
    level = [float(np.hypot(*m)) for m in minutes] or [np.nan]
    standing = s.standing[1:] & s.standing[:-1]
    moved = np.hypot(np.diff(s.east_m), np.diff(s.north_m))
    held = float((moved[standing] < HELD_M).mean()) if standing.sum() > 10 else np.nan
    return np.array(
        [
            *changes,
            (steps**4).mean() / (steps**2).mean() ** 2,
            max(level) / min(level),
            100 * held,
            100 * float(s.stale.mean()),
        ]
    )


def simulated(name: str, seed: int) -> Series:
    """The error series of a simulated day."""
    day = simulate_day(SCENARIOS[name], seed)
    track, path = day.track, day.path
    factor = height_factor(float(path.height_m[0]), day.plane.latitude_deg)
    east, north = day.plane.to_metres(track.longitude_deg, track.latitude_deg)
    places = east * factor, north * factor
    truth = [np.interp(track.time_s, path.time_s, v) for v in (path.east_m, path.north_m)]
    speed = np.interp(track.time_s, path.time_s, path.speed_m_s)
    # a late fix is off by the ground of a second along the heading of that moment
    second = [
        np.interp(track.time_s - 1, path.time_s, v) - now
        for v, now in zip((path.east_m, path.north_m), truth, strict=True)
    ]
    off = [p - t for p, t in zip(places, truth, strict=True)]
    before = [np.concatenate([o[:1], o[:-1]]) for o in off]
    as_late = np.hypot(*(o - b - s for o, b, s in zip(off, before, second, strict=True)))
    as_usual = np.hypot(*(o - b for o, b in zip(off, before, strict=True)))
    stale = (
        (day.phone.late_share > 0)
        & (speed > 0.5)
        & (as_late < 0.5 * as_usual)
        & (as_usual > 0.5 * speed)
    )
    return Series(
        name=name,
        device=name,
        drive=str(seed),
        half="",
        time_s=track.time_s - track.time_s[0],
        east_m=off[0],
        north_m=off[1],
        height_m=np.zeros(len(track.time_s)),
        standing=speed < STANDS_M_S,
        stale=stale,
    )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--half", choices=(*HALVES, "all"), default="all")
    parser.add_argument("--days", type=int, default=12, help="days of each simulated phone")
    parser.add_argument("--seed0", type=int, default=0)
    args = parser.parse_args()
    pieces = [s for s in read_series(args.folder) if args.half in ("all", s.half)]
    for name in PHONES:
        pieces += [simulated(name, args.seed0 + k) for k in range(args.days)]
    groups = defaultdict(list)
    for s in pieces:
        groups[s.device].append(shape(s))
    makes = sorted(g for g in groups if g not in PHONES)
    groups["all real phones"] = [f for m in makes for f in groups[m]]
    head = "".join(f"{f'{lapse} s':>6}" for lapse in LAPSES_S)
    print(f"{'rms change, m, over':22}{head}  kurtosis  minutes  repeats %  late %")
    for name in (*makes, "all real phones", *PHONES):
        figures = np.array(groups[name])
        middle, mean = np.nanmedian(figures, axis=0), np.nanmean(figures, axis=0)
        cells = "".join(f"{v:6.2f}" for v in middle[:5])
        print(
            f"{name:22}{cells}{middle[5]:10.0f}{middle[6]:9.1f}{mean[7]:11.0f}{mean[8]:8.1f}"
            f"   ({len(figures)} pieces)"
        )


if __name__ == "__main__":
    main()
