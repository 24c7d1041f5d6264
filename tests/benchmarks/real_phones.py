"""Does the interval hold on the errors of real phones? Sowing days made from a folder of them.

    python -m tests.benchmarks.real_phones FOLDER [--half judge] [--days 1] [--tractor FOLDER]

Each piece of error series becomes days of one to eight beds, driven by our simulator: stopped or
rolling at the ends, with the instants in the turn sheet or the order of the passes only, the errors
as they are and, where the piece holds enough standing, by regime. Each day is measured through the
whole path and with the true ends given, beside the plain estimate, from the median place in one
stand to that in the other (rolling: from fix to fix). Drives in order of their names belong in turn
to the half to tune on and the half to judge on. In brackets: 95 % intervals, drives drawn with
replacement. ``--tractor`` measures a run folder with instants in its sheet as well.
"""

from __future__ import annotations

import argparse
import os
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
from numpy.typing import NDArray

import groundtruth
from groundtruth.core.plane import plane_about
from groundtruth.core.run import Run

from .cases import Case
from .error_series import HALVES, read_series
from .methods import ours
from .phone_days import UNEVEN, USUAL, Kind, PhoneDay, phone_day

Array = NDArray[np.float64]
DRAWS = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A pass or a day: error, stated uncertainty and size in one unit; NaN where not measured."""

    device: str
    drive: str
    kind: str
    error: float
    std: float
    size: float
    plain: float = float("nan")
    held: float = float("nan")
    """1 where the day's own 95 % interval holds the truth, 0 where not."""


def plain_estimate(case: Case) -> float:
    """Median place in the stand before to that in the stand after, else fix to fix. [m]"""
    places = []
    for mark in (case.start_s, case.end_s):
        stood = [s for s in case.stops if s[0] <= mark <= s[1]]
        near = np.zeros(len(case.time_s), dtype=bool)
        if stood:
            near = (case.time_s >= stood[0][0]) & (case.time_s <= stood[0][1])
        if near.any():
            places.append((np.median(case.east_m[near]), np.median(case.north_m[near])))
        else:
            places.append(
                tuple(np.interp(mark, case.time_s, m) for m in (case.east_m, case.north_m))
            )
    return float(np.hypot(*np.subtract(places[1], places[0])))


def ends_given(d: PhoneDay) -> tuple[list[Figure], list[Figure]]:
    """Passes and the day's sum, the true ends being known."""
    about = {"device": d.series.device, "drive": d.series.drive, "kind": d.kind.name}
    if not d.cases:
        return [], []
    distance, covariance = ours(d.cases)
    truth = np.array([c.ground_m for c in d.cases])
    passes = [
        Figure(
            **about,
            error=float(distance[i] - truth[i]),
            std=float(covariance[i, i] ** 0.5),
            size=c.ground_m,
            plain=plain_estimate(c) - c.ground_m,
        )
        for i, c in enumerate(d.cases)
    ]
    error, std = float((distance - truth).sum()), float(covariance.sum() ** 0.5)
    held = float(abs(error) <= 1.96 * std)
    total = Figure(**about, error=error, std=std, size=float(truth.sum()), held=held)
    return passes, [total]


def whole_path(d: PhoneDay) -> tuple[list[Figure], list[Figure]]:
    """Passes and the day's ground per turn, from track and turn sheet; all passes of the truth."""
    about = {"device": d.series.device, "drive": d.series.drive, "kind": d.kind.name}
    plain = {c.simulated.truth.number: plain_estimate(c) - c.ground_m for c in d.cases}
    nan = float("nan")
    try:
        run = Run(name=d.series.name, track=d.day.track, turns=d.day.sheet, seeder=d.day.seeder)
        result = groundtruth.measure(run)
    except groundtruth.GroundtruthError:
        return [
            Figure(**about, error=nan, std=nan, size=p.ground_m, plain=plain.get(p.number, nan))
            for p in d.day.passes
        ], [Figure(**about, error=nan, std=nan, size=d.day.ground_per_turn_m)]
    passes = []
    for p in d.day.passes:
        shares = [
            (min(f.end_s, p.end_s) - max(f.start_s, p.start_s))
            / (max(f.end_s, p.end_s) - min(f.start_s, p.start_s))
            for f in result.passes
        ]
        error = std = nan
        if shares and max(shares) > 0.5:
            found = result.passes[int(np.argmax(shares))].distance
            error, std = found.value - p.ground_m, found.std
        passes.append(
            Figure(**about, error=error, std=std, size=p.ground_m, plain=plain.get(p.number, nan))
        )
    figure, (low, high) = result.ground_per_turn, result.ground_per_turn_95
    truth = d.day.ground_per_turn_m
    held = float(low <= truth <= high)
    total = Figure(**about, error=figure.value - truth, std=figure.std, size=truth, held=held)
    return passes, [total]


def _columns(figures: Sequence[Figure]) -> dict[str, Array]:
    return {
        name: np.array([getattr(f, name) for f in figures], dtype=float)
        for name in ("error", "std", "size", "plain", "held")
    }


def _share(c: dict[str, Array], width: float) -> float:
    seen = np.isfinite(c["error"])
    if not seen.any():
        return float("nan")
    if width == 1.96 and np.isfinite(c["held"]).any():
        return 100 * float(np.nanmean(c["held"]))
    return 100 * float(np.mean(np.abs(c["error"][seen]) <= width * c["std"][seen]))


STATISTICS: dict[str, Callable[[dict[str, Array]], float]] = {
    "95": lambda c: _share(c, 1.96),
    "68": lambda c: _share(c, 1.0),
    "z": lambda c: float(np.sqrt(np.nanmean((c["error"] / c["std"]) ** 2))),
    "bias": lambda c: 100 * float(np.nanmean(c["error"] / c["size"])),
    "rmse": lambda c: float(np.sqrt(np.nanmean(c["error"] ** 2))),
    "u": lambda c: float(np.sqrt(np.nanmean(c["std"] ** 2))),
    "plain": lambda c: float(np.sqrt(np.nanmean(c["plain"][np.isfinite(c["error"])] ** 2))),
    "ratio": lambda c: STATISTICS["rmse"](c) / STATISTICS["plain"](c),
    "missed": lambda c: 100 * float(np.mean(~np.isfinite(c["error"]))),
}


def interval(figures: Sequence[Figure], of: str) -> tuple[float, float]:
    """95 % interval of a statistic, drives drawn with replacement."""
    drives = sorted({f.drive for f in figures})
    parts = {d: _columns([f for f in figures if f.drive == d]) for d in drives}
    rng = np.random.default_rng(1)
    drawn = []
    for _ in range(DRAWS):
        chosen = [parts[drives[i]] for i in rng.integers(len(drives), size=len(drives))]
        joined = {k: np.concatenate([c[k] for c in chosen]) for k in chosen[0]}
        drawn.append(STATISTICS[of](joined) if np.isfinite(joined["error"]).any() else np.nan)
    low, high = np.nanpercentile(drawn, [2.5, 97.5])
    return float(low), float(high)


def table(title: str, figures: Sequence[Figure], unit: str) -> None:
    """Print one line a make, one a kind of day, and one for all."""
    print(f"\n{title}")
    print(
        f"{'':24} {'n':>5} {'drives':>6} {'95 %':>5} {'':13} {'68 %':>5} {'':11} {'rms z':>6}"
        f" {'bias %':>7} {'':15} {f'RMSE {unit}':>7} {'u':>6} {'plain':>6} {'÷ plain':>7} {'':11}"
        f" {'not measured %':>14}"
    )
    groups = [
        (d, [f for f in figures if f.device == d]) for d in sorted({f.device for f in figures})
    ]
    groups += [(k, [f for f in figures if f.kind == k]) for k in sorted({f.kind for f in figures})]
    for name, group in [*groups, ("all", list(figures))]:
        c = _columns(group)
        if not np.isfinite(c["error"]).any():
            print(f"{name:24} {len(group):5d}  none measured")
            continue
        s = {k: f(c) for k, f in STATISTICS.items() if k not in ("plain", "ratio")}
        wide, narrow, bias = (interval(group, k) for k in ("95", "68", "bias"))
        line = (
            f"{name:24} {len(group):5d} {len({f.drive for f in group}):6d} {s['95']:5.1f}"
            f" ({wide[0]:5.1f}–{wide[1]:5.1f}) {s['68']:5.1f} ({narrow[0]:4.0f}–{narrow[1]:4.0f})"
            f" {s['z']:6.2f} {s['bias']:+7.2f} ({bias[0]:+6.2f}–{bias[1]:+6.2f})"
            f" {s['rmse']:7.4g} {s['u']:6.3g}"
        )
        if np.isfinite(c["plain"]).any():
            ratio = interval(group, "ratio")
            line += f" {STATISTICS['plain'](c):6.3g} {STATISTICS['ratio'](c):7.3f}"
            line += f" ({ratio[0]:.2f}–{ratio[1]:.2f})"
        else:
            line += " " * 27
        print(f"{line} {s['missed']:14.1f}", flush=True)


def tractor(folder: Path) -> None:
    """Print the figure of a real tractor's run beside chord over turns and Doppler over turns."""
    run = groundtruth.read_run(folder / "run.toml")
    print(f"\nreal tractor, {run.name}: m a counted turn")
    for name in ("track.csv", "track-with-speed.csv"):
        track = groundtruth.read_track(folder / name)
        plane = plane_about(track)
        east, north = plane.to_metres(track.longitude_deg, track.latitude_deg)
        counts = [c for c in run.turns.counts if c.start_s is not None and c.end_s is not None]
        turns = sum(c.turns for c in counts)
        at = [np.array([c.start_s, c.end_s], dtype=float) for c in counts]
        chord = sum(
            np.hypot(*(np.diff(np.interp(t, track.time_s, m))[0] for m in (east, north)))
            for t in at
        )
        text = f"  {name:22} chord {chord / turns:.4f}"
        if np.isfinite(track.speed_m_s).any():
            known = np.isfinite(track.speed_m_s)
            fine = [np.linspace(*t, 400) for t in at]
            driven = sum(
                np.trapezoid(np.interp(f, track.time_s[known], track.speed_m_s[known]), f)
                for f in fine
            )
            text += f", Doppler {driven / turns:.4f}"
        print(text)
        try:
            seeder = run.seeder
            result = groundtruth.measure(
                Run(name=name, track=track, turns=run.turns, seeder=seeder)
            )
        except groundtruth.GroundtruthError as refused:
            print(f"    refused: {refused}")
            continue
        per = seeder.gear_turns_per_counted_turn
        low, high = (v * per for v in result.ground_per_turn_95)
        print(
            f"    groundtruth {result.ground_per_turn.value * per:.4f} ({low:.4f}–{high:.4f}), "
            f"{len(result.passes)} of {len(counts)} passes"
        )


def main() -> None:
    """Measure the days and print the tables."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("folder", type=Path)
    parser.add_argument("--half", choices=(*HALVES, "all"), default="all")
    parser.add_argument("--days", type=int, default=1, help="days of each kind a piece")
    parser.add_argument("--every", type=int, default=1, help="take every so many pieces only")
    parser.add_argument("--uneven", action="store_true", help="drive less evenly than usual")
    parser.add_argument("--given-only", action="store_true", help="leave the whole path out")
    parser.add_argument("--tractor", type=Path, help="run folder of a real tractor")
    args = parser.parse_args()
    series = read_series(args.folder)
    series = [s for s in series if args.half in ("all", s.half)][:: args.every]
    given: tuple[list[Figure], list[Figure]] = [], []
    whole: tuple[list[Figure], list[Figure]] = [], []
    took = {"given": 0.0, "whole": 0.0}
    days = 0
    for s in series:
        for rolling, instants, regime in np.ndindex(2, 2, 2):
            if regime and not s.by_regime:
                continue
            kind = Kind(rolling=bool(rolling), instants=bool(instants), regime=bool(regime))
            for number in range(args.days):
                d = phone_day(s, kind, number, UNEVEN if args.uneven else USUAL)
                if d is None:
                    continue
                days += 1
                if instants:  # the same with given ends whatever the sheet says
                    began = time.process_time()
                    for to, new in zip(given, ends_given(d), strict=True):
                        to += new
                    took["given"] += time.process_time() - began
                if not args.given_only:
                    began = time.process_time()
                    for to, new in zip(whole, whole_path(d), strict=True):
                        to += new
                    took["whole"] += time.process_time() - began
    print(
        f"half: {args.half}; {len(series)} pieces, {len({s.drive for s in series})} drives, "
        f"{days} days"
    )
    table("one pass, ends given", given[0], "m")
    table("the day's sum, ends given", given[1], "m")
    if not args.given_only:
        table("one pass, whole path", whole[0], "m")
        table("the day's ground per turn, whole path", whole[1], "m")
    print("\nCPU seconds: " + ", ".join(f"{k} {v:.0f}" for k, v in took.items()))
    if args.tractor:
        tractor(args.tractor)


if __name__ == "__main__":
    main()
