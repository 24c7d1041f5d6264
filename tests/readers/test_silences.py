"""Recorders that wait for movement: their silence is standing, that of a lost signal is not.

Truth: a walk of our own making along a bed and back, with stands, a fix a second, thinned here.
"""

from __future__ import annotations

import numpy as np
import pytest
from making import LATITUDE_DEG, LONGITUDE_DEG, START_S

from groundtruth.core.plane import Plane
from groundtruth.core.track import Track
from groundtruth.io.tracks.repairs.silences import with_silences_filled
from groundtruth.measurement.inspect import inspect_track
from groundtruth.passes.find import _silence_about
from groundtruth.views.blocks import Sentences
from groundtruth.views.inspection_blocks import inspection_blocks

PLANE = Plane(longitude_deg=LONGITUDE_DEG, latitude_deg=LATITUDE_DEG)
STANDS_S = 40
BED_S = 90
SPEED_M_S = 1.1


def to_and_fro(beds: int = 4):
    """Instants a second apart, and metres north; standing and driving by turns."""
    moving = np.concatenate([np.r_[np.zeros(STANDS_S), np.ones(BED_S)]] * beds)
    sense = np.repeat((-1.0) ** np.arange(beds), STANDS_S + BED_S)
    return START_S + np.arange(len(moving)), np.cumsum(SPEED_M_S * moving * sense)


def track_of(time, north, east=None):
    east = np.zeros(len(time)) if east is None else east
    longitude, latitude = PLANE.to_degrees(east, north)
    return Track(
        time_s=time,
        longitude_deg=longitude,
        latitude_deg=latitude,
        name="walk",
    )


def waiting_for(step_m, time, north):
    """The fixes that a recorder writes which waits for so much movement."""
    kept = [0]
    for i in range(len(north)):
        if abs(north[i] - north[kept[-1]]) >= step_m:
            kept.append(i)
    return track_of(time[kept], north[kept])


@pytest.mark.parametrize("step_m", [2.0, 5.0])
def test_the_silence_of_a_recorder_that_waits_for_movement_is_standing(step_m):
    time, north = to_and_fro()
    track = with_silences_filled(waiting_for(step_m, time, north))
    assert track.written_every_m == pytest.approx(step_m, abs=SPEED_M_S)
    _, found = PLANE.to_metres(track.longitude_deg, track.latitude_deg)
    for begin in range(STANDS_S + BED_S, len(time), STANDS_S + BED_S):
        within = (track.time_s > time[begin] + 8) & (track.time_s < time[begin] + STANDS_S - 8)
        assert within.any()
        assert np.ptp(found[within]) < 0.02
        assert np.abs(found[within] - north[begin + 5]).max() <= step_m / 2 + SPEED_M_S
    (notice,) = track.notices
    assert notice.kind == "repair"
    assert str(notice).startswith(f"walk: the recorder wrote a fix only after some {step_m:.0f} m")


def test_a_track_that_was_filled_is_left_as_it_is():
    time, north = to_and_fro()
    once = with_silences_filled(waiting_for(5.0, time, north))
    assert with_silences_filled(once) is once


def test_a_lost_signal_is_not_taken_for_standing():
    """The tractor drove on meanwhile: the place after the silence is far from that before."""
    time, north = to_and_fro()
    track = waiting_for(5.0, time, north)
    moving = np.concatenate([np.arange(0, len(track), 8) + k for k in range(4)])
    lost = track_of(
        *(v[np.sort(moving[moving < len(track)])] for v in (track.time_s, to_metres(track)))
    )
    filled = with_silences_filled(lost)
    assert filled.written_every_m is None
    assert filled is lost


def to_metres(track):
    return PLANE.to_metres(track.longitude_deg, track.latitude_deg)[1]


@pytest.mark.parametrize("every_s", [1, 5, 10])
def test_a_recorder_that_writes_by_the_clock_is_left_as_it_is(every_s):
    time, north = to_and_fro()
    noise = np.cumsum(np.random.default_rng(5).normal(0, 0.1, (2, len(time))), axis=1)
    track = track_of(time[::every_s], (north + noise[0])[::every_s], noise[1][::every_s])
    assert with_silences_filled(track) is track


def test_inspect_says_which_settings_a_recorder_should_have():
    """A fix in 8 s by the clock, and one after 5 m of movement; a fix every second needs none."""
    time, north = to_and_fro()
    thinned = with_silences_filled(waiting_for(5.0, time, north))
    for track, said in (
        (track_of(time[::8], north[::8]), True),
        (thinned, True),
        (track_of(time, north), False),
    ):
        blocks = inspection_blocks(inspect_track(track), units="metric", time_zone="UTC")
        lines = [s for block in blocks if isinstance(block, Sentences) for s in block.sentences]
        assert any("a fix every second, without a filter" in line.lower() for line in lines) == said


def test_a_stand_ends_where_such_a_recorder_writes_again():
    """After the stand at a bed's end the tractor creeps on in line, as at a headland."""
    time, north = to_and_fro()
    track = with_silences_filled(waiting_for(2.0, time, north))
    _, found = PLANE.to_metres(track.longitude_deg, track.latitude_deg)
    stands_s = STANDS_S + BED_S
    at = START_S + stands_s + STANDS_S / 2  # the middle of the second stand
    part = _silence_about(track, at, (at - 100.0, at + 100.0))
    inside = (track.time_s >= part[0]) & (track.time_s <= part[1])
    assert np.ptp(found[inside]) < 0.02
    assert part == pytest.approx((START_S + stands_s, START_S + stands_s + STANDS_S), abs=4.0)
    moving = START_S + STANDS_S + BED_S / 2
    assert _silence_about(track, moving, (moving - 5.0, moving + 5.0)) == (moving - 5, moving + 5)
    by_the_clock = track_of(time, north)
    assert _silence_about(by_the_clock, at, (at - 100.0, at + 100.0)) == (at - 100, at + 100)
