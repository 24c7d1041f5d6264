"""The doubt about the ends of passes over a day."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from groundtruth.measurement.ground_covered import ENOUGH_FIXES, _blurred_m
from groundtruth.passes.end_decision import _edge
from groundtruth.stats.end_covariance import HABIT_SHARE, end_covariance


def test_each_pass_keeps_its_variance_whatever_is_shared():
    std = np.array([[4.0, 0.5], [0.0, 5.0], [3.0, 3.0]])
    for rolling in (np.zeros((3, 2), bool), np.ones((3, 2), bool)):
        assert_allclose(np.diag(end_covariance(std, rolling)), (std**2).sum(axis=1))


def test_a_habit_does_not_average_out():
    """The mean of n passes keeps the habit of both ends, however many there are (JCGM 100, H.2:
    a common part of n errors adds as a whole, an independent one by 1/n); it grows with the doubt,
    as a rough phone's does."""
    n = 1600
    mean_var = end_covariance(np.full((n, 2), 4.0), np.ones((n, 2), bool)).sum() / n**2
    assert mean_var == pytest.approx((2 * HABIT_SHARE * 4.0) ** 2, rel=0.02)


def test_the_covariance_is_one():
    """No combination of passes has a negative variance, whatever the ends."""
    rng = np.random.default_rng(1)
    for _ in range(200):
        std = rng.exponential(rng.choice([0.3, 3.0]), (6, 2))
        eigenvalues = np.linalg.eigvalsh(end_covariance(std, rng.random((6, 2)) < 0.6))
        assert eigenvalues.min() > -1e-9


def test_stands_and_written_instants_share_nothing():
    covariance = end_covariance(np.full((3, 2), 0.4), np.zeros((3, 2), bool))
    assert_allclose(covariance, np.eye(3) * 0.32)


@pytest.mark.parametrize(
    ("fixes", "found", "blurred_m"),
    [
        (ENOUGH_FIXES, ("stopped", "stopped"), 0.0),
        # moving off lies evenly between two fixes: a²/12 [JCGM 100:2008, 4.3.7], half at each end
        (7, ("stopped", "stopped"), 15.0 / 12**0.5),
        (7, ("stopped", "turn sheet"), 15.0 / 24**0.5),
        (7, ("rolling", "turn sheet"), 0.0),
    ],
)
def test_very_few_fixes_leave_the_stands_of_all_passes_in_doubt_alike(fixes, found, blurred_m):
    stretch = SimpleNamespace(time_s=np.zeros(fixes), interval_s=10.0, rough_speed_m_s=1.5)
    start, end = (SimpleNamespace(found=how) for how in found)
    blurred = _blurred_m(stretch, SimpleNamespace(start=start, end=end))
    assert blurred == pytest.approx(blurred_m)


def test_an_unlikely_reading_far_away_does_not_move_the_edge_of_a_stand():
    instants_s = np.array([0.0, -10.0, -20.0, -250.0])
    near = np.array([0.1, 0.6, 0.1, 0.2])
    assert_allclose(_edge(near, instants_s), -10.0)
    assert_allclose(_edge(np.array([0.0, 0.5, 0.5, 0.0]), instants_s), -15.0)
