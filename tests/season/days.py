"""Days and runs with known beds for the tests of the season. All simulated; the truth is ours.

A day here is made at the level of its result: places across the block with a phone's wander (a
first-order Gauss-Markov process of 1-3 m over 1-10 minutes, as in docs/simulator.md), so that many
days cost little. Whole days through the estimator are in tests/benchmarks/season.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from groundtruth.beds import SownPass, lay_out
from groundtruth.core.measured import Measured
from groundtruth.core.plane import Plane

PLANE = Plane(longitude_deg=-41.25, latitude_deg=43.5)
SPACING_M = 1.6
DAY_S = 86_400.0
BEDS_20 = list(range(20))
START_S = 1_808_150_000.0


def wander(rng: np.random.Generator, seconds: int, std_m: float, tau_s: float) -> np.ndarray:
    keep = np.exp(-1 / tau_s)
    steps = rng.standard_normal(seconds) * std_m * np.sqrt(1 - keep * keep)
    steps[0] = rng.normal(0, std_m)
    out = np.empty(seconds)
    value = 0.0
    for i, step in enumerate(steps):
        value = keep * value + step
        out[i] = value
    return out


def sown_day(
    rng: np.random.Generator,
    beds: Sequence[int],
    *,
    day: int = 0,
    run: str = "",
    lengths_m: Sequence[float] | None = None,
    names: Sequence[str] | None = None,
    offset_m: tuple[float, float] | None = None,
    slow: tuple[float, float] | None = None,
    block_at: tuple[float, float] = (0.0, 0.0),
    spacing_m: float = SPACING_M,
    said_spacing_m: float | None = SPACING_M,
    length_m: float = 90.0,
    ahead_m: float = 0.0,
    right_m: float = 0.0,
) -> list[SownPass]:
    """The passes of a day on beds that run north, bed 0 in the west.

    ``slow`` fixes the wander (m, s), else it is drawn from 1 to 3 m over 1 to 10 minutes.
    """
    std, tau = slow or (rng.uniform(1, 3), np.exp(rng.uniform(np.log(60), np.log(600))))
    off = rng.normal(0, 3, size=2) if offset_m is None else np.array(offset_m)
    speed, turn_s = 1.1, 35
    lengths = [length_m if lengths_m is None else lengths_m[b] for b in beds]
    total = int(sum(length / speed + turn_s for length in lengths)) + 120
    noise = np.stack([wander(rng, total, std, tau) for _ in range(2)])
    noise += np.stack([wander(rng, total, 0.5, 10.0) for _ in range(2)])
    t0 = START_S + day * DAY_S
    clock, forth, found = 0.0, True, []
    for number, (bed, length) in enumerate(zip(beds, lengths, strict=True), start=1):
        took = length / speed
        second = np.arange(int(clock), int(clock + took))
        share = (second - clock) / took
        along = length * share if forth else length * (1 - share)
        way = 1 if forth else -1
        east = block_at[0] + bed * spacing_m + way * right_m + off[0] + noise[0, second]
        north = block_at[1] + along + way * ahead_m + off[1] + noise[1, second]
        parts = np.array_split(np.arange(len(second)), 4)
        lon, lat = PLANE.to_degrees(
            [east[p].mean() for p in parts], [north[p].mean() for p in parts]
        )
        slope = np.polyfit(along, east, 1)
        ends = [0.0, length] if forth else [length, 0.0]
        ahead = [e + way * ahead_m + off[1] for e in ends]
        a_lon, a_lat = PLANE.to_degrees(
            np.polyval(slope, ends), [block_at[1] + north_m for north_m in ahead]
        )
        found.append(
            SownPass(
                run=run or f"day {day}",
                number=number,
                start_s=t0 + clock,
                end_s=t0 + clock + took,
                axis=(
                    (float(a_lon[0]), float(a_lat[0])),
                    (float(a_lon[1]), float(a_lat[1])),
                ),
                positions=tuple(
                    (t0 + float(second[p].mean()), float(x), float(y))
                    for p, x, y in zip(parts, lon, lat, strict=True)
                ),
                bed_name=names[number - 1] if names else "",
                length=Measured(length * (1 + rng.normal(0, 0.006)), 0.9),
                width_m=1.28,
                rows=4,
                ahead_m=ahead_m,
                right_m=right_m,
                bed_spacing_m=said_spacing_m,
            )
        )
        clock += took + turn_s
        forth = not forth
    return found


def halves(
    seed: int, *, named: bool, growth_m: float
) -> tuple[dict[str, list[SownPass]], dict[str, list[int]]]:
    """Twelve runs on six days and the true beds of each: one seeder sows the western ten beds of a
    block, another the eastern ten. Each bed is ``growth_m`` longer than the one before."""
    rng = np.random.default_rng(seed)
    lengths = [90 + growth_m * bed for bed in range(20)]
    runs: dict[str, list[SownPass]] = {}
    truth: dict[str, list[int]] = {}
    for day in range(6):
        for seeder, beds in (("blue", BEDS_20[:10]), ("red", BEDS_20[10:])):
            key = f"{day} {seeder}"
            at = day * 7 + (0.3 if seeder == "red" else 0)
            passes = sown_day(rng, beds, day=at, run=key, lengths_m=lengths)
            runs[key] = [replace(p, seeder=seeder if named else "") for p in passes]
            truth[key] = beds
    return runs, truth


def laid_right(runs: dict[str, list[SownPass]], truth: dict[str, list[int]]) -> int:
    """Passes laid on their bed, beds counted from the lowest."""
    found = {
        key: {n: b for one in days for n, b in zip(one.passes, one.beds, strict=True)}
        for key, days in lay_out(runs).assignments.items()
    }
    low = min(bed for day in found.values() for bed in day.values())
    return sum(
        day[number] - low == bed
        for key, day in found.items()
        for number, bed in enumerate(truth[key], start=1)
    )
