"""A break of any length changes nothing (truth: our simulator; seeds 9100 to 9210 were used to
mend what breaks did)."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from benchmarks.mistake_tracks import with_break

from groundtruth.passes import find_passes
from groundtruth.passes.resampling import PlaneTrack, without_breaks
from groundtruth.simulation import SCENARIOS, SimulatedDay, simulate_day


def passes_hit(day: SimulatedDay) -> list[bool]:
    """Of each true pass, whether it and the pass found there are mostly the same."""
    found = find_passes(day.track)
    assert len(found) == len(day.passes)
    hit = []
    for p, true in zip(found, day.passes, strict=True):
        ends = np.interp([p.start.time_s, p.end.time_s], day.path.time_s, day.path.ground_m)
        begun, done = np.interp([true.start_s, true.end_s], day.path.time_s, day.path.ground_m)
        shared = min(ends[1], done) - max(ends[0], begun)
        hit.append(bool(shared > 0.5 * (max(ends[1], done) - min(ends[0], begun))))
    return hit


@pytest.mark.parametrize("silent", [False, True])
@pytest.mark.parametrize(
    ("scenario", "seed", "minutes", "rolling", "at"),
    [
        ("smoothing phone", 9100, 24.3, 0.0, "start"),
        ("smoothing phone", 9110, 18.0, 0.0, "start"),
        ("smoothing phone", 9102, 29.5, 0.0, "end"),
        ("ordinary phone", 9208, 17.1, 1.0, "end"),
        ("ordinary phone", 9209, 7.8, 1.0, "headland"),
        ("ordinary phone", 9210, 1.0, 0.0, "end"),
    ],
)
def test_a_break_costs_no_pass(
    scenario: str, seed: int, minutes: float, rolling: float, at: str, silent: bool
) -> None:
    """Also where the phone goes silent after a while and wakes before the tractor moves off."""
    of = SCENARIOS[scenario]
    of = replace(of, field=replace(of.field, passes=(5, 5), pauses=(0, 0)))
    day = simulate_day(replace(of, motion=replace(of.motion, rolling_share=rolling)), seed)
    before, after = day.passes[2], day.passes[3]
    instant = {
        "end": before.end_s + 1.0,
        "start": after.start_s - 1.0,
        "headland": (before.end_s + after.start_s) / 2,
    }[at]
    rng = np.random.default_rng([seed, 11])
    day = with_break(day, instant, 60 * minutes, rng)
    if silent:
        time = day.track.time_s
        awake = (time < instant + 20) | (time > instant + 60 * minutes - 5)
        day = replace(day, track=day.track.taken(awake))
    assert all(passes_hit(day))


def _track(along_m: np.ndarray) -> PlaneTrack:
    nothing = np.zeros(len(along_m), dtype=bool)
    return PlaneTrack(
        time_s=np.arange(len(along_m), dtype=float),
        xy_m=np.stack([along_m, 0 * along_m]),
        speed_m_s=np.full(len(along_m), np.nan),
        frozen=nothing,
        jump=nothing,
    )


def test_the_middle_of_a_break_is_left_out_though_the_phone_drifts() -> None:
    """20 min of standing, with a drift of 10 m: half a minute or so is left on either side."""
    time = np.arange(0.0, 1400.0)
    along = np.clip(time, 0, 100) + np.clip(time - 1300, 0, 100)
    drift = 10 * np.clip(time - 100, 0, 1200) / 1200
    left = without_breaks(_track(along + drift)).time_s
    assert set(time[time < 100]) | set(time[time > 1300]) <= set(left)
    assert 40 <= ((left >= 100) & (left <= 1300)).sum() <= 70


def test_slow_sowing_and_a_short_stop_are_no_break() -> None:
    slow = _track(np.arange(0.0, 60.0, 0.2))
    stopped = _track(np.concatenate([np.arange(0.0, 60.0), np.full(50, 60.0), np.arange(60, 120)]))
    for fixes in (slow, stopped):
        assert len(without_breaks(fixes).time_s) == len(fixes.time_s)
