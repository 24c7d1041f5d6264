"""What a result keeps for those who compare many runs: enough to pool it again."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import groundtruth
from groundtruth.core.recording import DistanceErrors
from groundtruth.core.uncertainty import UncertaintySource
from groundtruth.io.result_json import result_from_json, result_to_json
from groundtruth.measurement import recording as recordings
from groundtruth.measurement.slip import PassCount, pool_run


@pytest.fixture(scope="module")
def result(run, passes):
    return groundtruth.measure(run, passes)


def covariance_m2(errors: DistanceErrors) -> np.ndarray:
    """The covariance matrix as docs/result-json.md says that it is written."""
    count = len(errors.passes)
    correlation = np.eye(count)
    at = 0
    for row in range(count):
        for column in range(row):
            correlation[row, column] = correlation[column, row] = errors.correlations[at]
            at += 1
    return correlation * np.outer(errors.std_m, errors.std_m)


def test_a_result_read_from_json_gives_the_pooled_figure_again(result):
    """The same arithmetic on what was written: nothing that pooling rests on is missing."""
    read = result_from_json(result_to_json(result))
    place = {number: at for at, number in enumerate(read.distances.passes)}
    distance_m = np.zeros(len(place))
    for figure in read.passes:
        distance_m[place[figure.number]] = figure.distance.value
    again = pool_run(
        distance_m,
        {UncertaintySource.POSITION: covariance_m2(read.distances)},
        [
            PassCount(pass_index=place[f.number], unit=f.unit, gear_turns=f.turns)
            for f in read.passes
        ],
        read.seeder.zero_slip_travel,
    )
    assert all(cell.verdict == "agrees" for cell in read.cells)
    assert again.ground_per_turn.value == pytest.approx(result.ground_per_turn.value, rel=1e-7)
    assert again.ground_per_turn.std == pytest.approx(result.ground_per_turn.std, rel=1e-4)
    assert again.spread.value == pytest.approx(result.spread_between_passes.value, rel=1e-4)


def test_the_covariance_is_one_and_has_the_uncertainties_of_the_passes(result):
    errors = result.distances
    assert np.linalg.eigvalsh(covariance_m2(errors)).min() > 0
    assert dict(zip(errors.passes, errors.std_m, strict=True)) == {
        figure.number: figure.distance.std for figure in result.passes
    }
    assert any(abs(one) > 0.01 for one in errors.correlations)


def test_the_recording_is_that_of_the_track(run, result):
    recording = result.recording
    assert recording.receiver == "phone"
    assert 0 <= recording.fixes_set_aside < recording.fixes < len(run.track)
    # more fixes than there are seconds between the marks, at one fix a second, with the stands
    assert recording.fixes >= sum(
        end - start
        for start, end in {f.number: (f.start_s, f.end_s) for f in result.passes}.values()
    ) * (len(run.track) / np.ptp(run.track.time_s))
    noise = dict(recording.noise)
    assert 0.1 < noise["slow_m"] < 10
    assert all(value > 0 for value in noise.values())
    told = groundtruth.measure(replace(run, receiver="centimetre"))
    assert told.recording.receiver == "centimetre"


def test_above_the_limit_correlations_are_left_out_with_a_word(run, passes, result, monkeypatch):
    monkeypatch.setattr(recordings, "MOST_CORRELATED", 2)
    many = groundtruth.measure(run, passes)
    assert many.distances == replace(result.distances, correlations=None)
    (said,) = set(many.facts) - set(result.facts)
    assert str(said) == "correlations between more than 2 passes are not kept in result.json"
