"""Pooling: honest intervals with few figures, correlated errors. Simulated truth is ours."""

import numpy as np
import pytest
from scipy import stats

from groundtruth.stats.random_effects import (
    PRIOR_DEGREES_OF_FREEDOM,
    NormalMixture,
    fit_random_effects,
)

MEASURING = 0.012
PRIOR = 0.02


def mean_of(figures, covariance):
    """Distribution of the pooled mean."""
    return fit_random_effects(figures, covariance, prior_scale=PRIOR).contrast(np.ones(1))


def correlated(k, correlation):
    return MEASURING**2 * ((1 - correlation) * np.eye(k) + correlation)


def covered(k, correlation, spread_of, days, seed):
    """Share of simulated days whose 95 % interval holds the true mean, 0."""
    rng = np.random.default_rng(seed)
    covariance = correlated(k, correlation)
    root = np.linalg.cholesky(covariance)
    hits = 0
    for _ in range(days):
        figures = root @ rng.normal(size=k) + spread_of(rng) * rng.normal(size=k)
        low, high = mean_of(figures, covariance).interval()
        hits += low <= 0 <= high
    return hits / days


@pytest.mark.parametrize("passes", [1, 2, 4, 10, 20])
def test_coverage_over_the_prior(passes):
    """Days whose spread follows the prior: exactly 95 %, whatever the number of passes."""
    spread_of = lambda rng: PRIOR * abs(rng.standard_t(PRIOR_DEGREES_OF_FREEDOM))  # noqa: E731
    assert 0.93 <= covered(passes, 0.2, spread_of, 800, seed=passes) <= 0.97


@pytest.mark.parametrize("spread", [0.0, 0.02])
@pytest.mark.parametrize("correlation", [0.0, 0.3])
def test_coverage_at_one_spread(spread, correlation):
    """Ten passes with no spread, and with 2 %.

    A spread cannot be below 0, so that a day without any gets an interval somewhat too wide.
    """
    share = covered(10, correlation, lambda rng: spread, 800, seed=7)
    assert 0.93 <= share <= (0.985 if spread == 0 else 0.97)


def test_one_figure_has_the_prior_alone():
    """One pass: the restricted likelihood is flat, so that the spread keeps its prior."""
    effects = fit_random_effects(np.array([0.3]), np.array([[MEASURING**2]]), prior_scale=PRIOR)
    prior = stats.t(PRIOR_DEGREES_OF_FREEDOM, scale=PRIOR)
    # mean of the half-t, by quadrature over the grid's range
    expected = 2 * prior.expect(lambda t: t, lb=0, ub=40 * PRIOR)
    assert effects.spread_moments().value == pytest.approx(expected, rel=0.02)
    assert effects.contrast(np.ones(1)).moments().value == pytest.approx(0.3)


def test_a_shared_error_does_not_average_out():
    """Errors common to all passes stay, however many passes there are."""
    k = 50
    covariance = np.full((k, k), 0.01**2) + 1e-10 * np.eye(k)
    mean = mean_of(np.zeros(k), covariance).moments()
    assert mean.std == pytest.approx(0.01, rel=0.05)


def test_exact_figures_leave_the_spread_only():
    """Without measuring errors the interval is Student's, but for the weak prior."""
    rng = np.random.default_rng(3)
    figures = 0.02 * rng.normal(size=20)
    low, high = mean_of(figures, np.zeros((20, 20))).interval()
    student = stats.t.interval(0.95, 19, figures.mean(), stats.sem(figures))
    assert (low, high) == (pytest.approx(student[0], rel=0.05), pytest.approx(student[1], rel=0.05))


def test_moving_all_figures_moves_the_mean():
    rng = np.random.default_rng(5)
    figures, covariance = rng.normal(size=6) * 0.02, correlated(6, 0.4)
    one = mean_of(figures, covariance).moments()
    two = mean_of(figures + 0.5, covariance).moments()
    assert two.value - one.value == pytest.approx(0.5)
    assert two.std == pytest.approx(one.std)


def test_mixture_quantiles():
    """A mixture of one normal is that normal."""
    one = NormalMixture(weight=np.ones(1), mean=np.array([2.0]), variance=np.array([9.0]))
    expected = stats.norm.interval(0.9, 2, 3)
    assert one.interval(0.9) == (pytest.approx(expected[0]), pytest.approx(expected[1]))
    assert one.cdf(2.0) == pytest.approx(0.5)
    assert one.widened(16.0).moments().std == pytest.approx(5.0)


def test_what_does_not_fit_is_refused():
    with pytest.raises(ValueError, match="do not fit"):
        fit_random_effects(np.zeros(3), np.eye(2), prior_scale=PRIOR)
    with pytest.raises(ValueError, match="rank"):
        fit_random_effects(np.zeros(3), np.eye(3), prior_scale=PRIOR, design=np.ones((3, 2)))
