"""Counts judged by the others: what is wrong is found, what is right is left alone."""

from __future__ import annotations

import numpy as np
import pytest

from groundtruth.core.what_was_meant import meant
from groundtruth.measurement.credibility import LOG_RANGE, WRONG_COUNT, _right, credibility


def a_day(seed, passes=10, units=4, length_m=70.0, per_turn_m=0.75):
    """Whole turns and measured ground of a morning, an invented one. Slip by pass 0.5 %."""
    rng = np.random.default_rng(seed)
    true = length_m + rng.uniform(-1.5, 1.5, passes)
    soil = np.exp(rng.normal(0, 0.005, passes))
    turns = true[:, None] / per_turn_m * soil[:, None] * np.exp(rng.normal(0, 0.001, units))
    phase = rng.random((passes, units))
    return np.floor(turns + phase), true * np.exp(rng.normal(0, 0.012, passes))


def judged(turns, ground, *, cut=None):
    passes, units = np.indices(turns.shape)
    counted = np.isfinite(turns)
    n = turns[counted]
    return credibility(
        np.log(n),
        1 / 6 / n**2,  # two cut readings, JCGM 100:2008, 4.3.9
        passes[counted],
        units[counted],
        np.log(ground),
        np.full(len(ground), 0.012),
        np.zeros(len(ground), dtype=bool) if cut is None else cut,
    )


@pytest.mark.parametrize("units", [2, 4])
@pytest.mark.parametrize("wrong", [39.0, 9.0, 993.0, 83.0])
def test_one_wrong_count_is_found_and_no_other(units, wrong):
    for seed in range(20):
        turns, ground = a_day(seed, units=units)
        turns[4, 1] = wrong
        found = judged(turns, ground)
        out = np.flatnonzero(found.count < 0.5)
        assert out.tolist() == [4 * units + 1], seed
        assert (found.of_pass > 0.5).all()
        right = np.log(a_day(seed, units=units)[0][4, 1])
        assert abs(found.predicted[out[0]] - right) < 4 * found.std[out[0]]


def test_days_without_a_mistake_lose_no_count():
    kept = [(judged(*a_day(seed)).count > 0.5).all() for seed in range(300)]
    assert np.mean(kept) >= 0.99


def test_a_counter_that_was_not_set_back_is_told_from_its_pass():
    turns, ground = a_day(3)
    turns[6] += turns[5]
    found = judged(turns, ground)
    assert np.flatnonzero(found.of_pass < 0.5).tolist() == [6]
    assert (found.count > 0.5).all()


def test_a_blank_cell_harms_nothing():
    turns, ground = a_day(5)
    turns[2, 0] = np.nan
    found = judged(turns, ground)
    assert len(found.count) == 39
    assert (found.count > 0.9).all()


def test_a_pass_cut_by_the_recording_is_doubted_sooner():
    turns, ground = a_day(8)
    ground[9] *= 0.94
    cut = np.arange(10) == 9
    assert judged(turns, ground, cut=cut).of_pass[9] < judged(turns, ground).of_pass[9]


def test_the_probability_is_bayes_theorem():
    """Odds of a normal against an even spread, worked out by hand."""
    away, std = 0.02, 0.006
    normal = np.exp(-0.5 * (away / std) ** 2) / (std * np.sqrt(2 * np.pi))
    odds = (1 - WRONG_COUNT) * normal / (WRONG_COUNT / LOG_RANGE)
    found = _right(np.array([away]), np.array([std]), WRONG_COUNT, narrow=0.0)
    assert found == pytest.approx([odds / (1 + odds)])


@pytest.mark.parametrize(
    ("written", "low", "high", "right"),
    [
        (39, 92, 94, 93),  # swapped
        (9, 92, 94, 93),  # a digit lost: 92, 93 or 94, the nearest to the middle
        (933, 92, 94, 93),  # typed twice
        (103, 92, 94, None),
        (83, 92, 94, 93),  # one digit mistaken
        (34.1, 43.0, 43.5, 43.1),
        (1e9, 92, 94, None),
    ],
)
def test_what_was_meant(written, low, high, right):
    assert meant(written, low, high) == right


def test_a_counter_that_was_not_set_back_is_named_by_its_difference():
    assert meant(186, 91, 95, before=93) == 93
