"""Exact limits of counts and shares against printed tables and against scipy.

Poisson: 95 % limits as tabulated since Garwood 1936, Biometrika 28:437 (in Pearson & Hartley,
*Biometrika Tables for Statisticians*, table 40; from memory). Shares: the four examples of
Newcombe 1998, Statistics in Medicine 17:857, table I (from memory), exact and score method.
"""

import pytest
from scipy import stats

from groundtruth.stats.intervals import (
    Dispersion,
    binomial_limits,
    count_limits,
    poisson_limits,
    score_limits,
)


@pytest.mark.parametrize(
    ("events", "low", "high"),
    [(0, 0.00, 3.69), (1, 0.03, 5.57), (5, 1.62, 11.67), (10, 4.80, 18.39), (20, 12.22, 30.89)],
)
def test_poisson_table(events, low, high):
    found = poisson_limits(events)
    assert (round(found[0], 2), round(found[1], 2)) == (low, high)


@pytest.mark.parametrize("events", [1, 7, 132, 1045])
def test_poisson_limits_leave_the_tails(events):
    """The definition: at the limits the count or a more extreme one has a chance of 2.5 %."""
    low, high = poisson_limits(events)
    assert stats.poisson.sf(events - 1, low) == pytest.approx(0.025)
    assert stats.poisson.cdf(events, high) == pytest.approx(0.025)


def test_an_assumed_count_gets_the_exact_limits():
    assert count_limits(10, Dispersion(factor=1.0, degrees_of_freedom=0)) == poisson_limits(10)


@pytest.mark.parametrize(
    ("hits", "trials", "low", "high"),
    [
        (81, 263, 0.2527, 0.3676),
        (15, 148, 0.0578, 0.1617),
        (0, 20, 0.0000, 0.1684),
        (1, 29, 0.0009, 0.1776),
    ],
)
def test_exact_limits_of_a_share(hits, trials, low, high):
    found = binomial_limits(hits, trials)
    assert (round(found[0], 4), round(found[1], 4)) == (low, high)
    scipys = stats.binomtest(hits, trials).proportion_ci(method="exact")
    assert found == pytest.approx((scipys.low, scipys.high), abs=1e-9)


@pytest.mark.parametrize(
    ("hits", "trials", "low", "high"),
    [
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0000, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_score_limits_of_a_share(hits, trials, low, high):
    """With the dispersion known to be 1 (endless degrees of freedom) Wilson's interval."""
    found = score_limits(hits, trials, Dispersion(factor=1.0, degrees_of_freedom=10**9))
    assert (round(found[0], 4), round(found[1], 4)) == (low, high)
