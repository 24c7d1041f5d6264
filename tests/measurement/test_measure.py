"""A run measured from passes that were found before, and what is refused."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import groundtruth
from groundtruth.measurement import measure as measuring


def test_passes_found_before_give_the_same_result_without_a_second_search(run, passes, monkeypatch):
    whole = groundtruth.measure(run)

    def search(*_):
        raise AssertionError("searched again")

    monkeypatch.setattr(measuring, "find_passes", search)
    assert groundtruth.measure(run, passes) == whole


def test_passes_of_another_track_are_refused(run, passes):
    later = replace(run.track, time_s=run.track.time_s + 600.0)
    with pytest.raises(ValueError, match="were not found in the track"):
        groundtruth.measure(replace(run, track=later), passes)


def test_passes_beyond_the_track_are_refused(run, passes):
    outside = replace(passes[-1], last=len(run.track))
    with pytest.raises(ValueError, match="were not found in the track"):
        groundtruth.measure(run, (*passes[:-1], outside))


def test_no_pass_is_said_so(run):
    with pytest.raises(groundtruth.GroundtruthError, match="no straight working pass"):
        groundtruth.measure(run, ())


def test_every_pass_found_lies_in_its_track(run, passes):
    """The check that refuses foreign passes refuses none of its own, shifted clocks included."""
    assert len(passes) > 3
    for shift_s in (0.0, 0.37):
        track = replace(run.track, time_s=run.track.time_s + shift_s)
        for found in groundtruth.find_passes(track):
            assert measuring._within(track, found)
    assert np.all(np.diff([p.start.time_s for p in passes]) > 0)


def test_a_pass_of_which_too_little_was_recorded_is_left_out_and_the_others_answered(
    run, passes, monkeypatch
):
    """As where a pass lay in a gap: its length may as well be nothing."""
    measured = measuring.ground_covered

    def one_lost(stretches, **more):
        travel = measured(stretches, **more)
        if len(stretches) < len(passes):
            return travel
        distance, covariance = travel.distance_m.copy(), travel.covariance_m2.copy()
        distance[2], covariance[2, 2] = -3.0, 40.0**2
        return replace(travel, distance_m=distance, covariance_m2=covariance)

    whole = groundtruth.measure(run, passes)
    monkeypatch.setattr(measuring, "ground_covered", one_lost)
    result = groundtruth.measure(run, passes)
    (found,) = (f for f in result.findings if f.kind == "ground too unsure")
    assert found.passes == (3,)
    assert found.severity == "warning"
    assert {p.number for p in result.passes} == {p.number for p in whole.passes} - {3}
    low, high = whole.ground_per_turn_95
    assert low < result.ground_per_turn.value < high
