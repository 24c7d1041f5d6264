"""Moving off and coming to stand, from the fixes themselves."""

from __future__ import annotations

import numpy as np
import pytest

from groundtruth.estimator import refined_stops

RAMP_S, SPEED = 3.0, 1.2


def drive(*, noise=0.0, seed=0, stand_s=10.0, work_s=80.0):
    """Stand, speed up evenly, drive, slow down evenly, stand: time, east, north, true ends."""
    time = np.arange(0.0, 2 * stand_s + work_s + 1)
    off, still = stand_s, stand_s + work_s
    fine = np.arange(0.0, time[-1] + 0.05, 0.01)
    speed = SPEED * np.clip(np.minimum((fine - off) / RAMP_S, (still - fine) / RAMP_S), 0, 1)
    along = np.interp(time, fine, np.cumsum(speed) * 0.01)
    rng = np.random.default_rng(seed)
    east, north = 0.6 * along, 0.8 * along
    return time, *(v + rng.normal(0, noise, len(time)) for v in (east, north)), off, still


def test_an_end_found_too_early_in_the_standing_is_moved_to_the_motion():
    time, east, north, off, still = drive()
    (first, last) = refined_stops(time, east, north, ((0.0, off - 4), (still + 4, time[-1])))
    assert first[0] == 0.0
    assert first[1] == pytest.approx(off, abs=0.4)
    assert last[0] == pytest.approx(still, abs=0.4)
    assert last[1] == time[-1]


@pytest.mark.parametrize("seed", range(5))
def test_noise_moves_it_by_what_noise_can(seed):
    time, east, north, off, still = drive(noise=0.3, seed=seed)
    (first, last) = refined_stops(time, east, north, ((0.0, off - 3), (still + 3, time[-1])))
    assert first[1] == pytest.approx(off, abs=1.5)
    assert last[0] == pytest.approx(still, abs=1.5)


def test_an_end_is_never_moved_into_the_standing():
    time, east, north, off, still = drive()
    (first, last) = refined_stops(time, east, north, ((0.0, off + 2), (still - 2, time[-1])))
    assert first[1] >= off + 2
    assert last[0] <= still - 2


def test_too_few_fixes_leave_the_stops_alone():
    stops = ((0.0, 2.0), (6.0, 8.0))
    few = np.arange(5.0)
    assert refined_stops(few, few, few, stops) == stops


def test_a_gap_in_the_fixes_does_not_make_the_working_speed_too_high():
    """Way without its time would: the ends of the stops came out seconds too late."""
    time, east, north, off, still = drive(work_s=90.0)
    kept = (time < off + 35) | (time > off + 55)
    found = refined_stops(time[kept], east[kept], north[kept], ((0.0, off - 4), (still + 4, 1e3)))
    assert found[0][1] == pytest.approx(off, abs=0.4)
    assert found[1][0] == pytest.approx(still, abs=0.4)
