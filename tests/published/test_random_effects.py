"""Random effects against a published worked example and against statsmodels.

Thirteen trials of a vaccine (Colditz et al. 1994, Journal of the American Medical Association
271:698), log relative risk; the REML results are those of Viechtbauer 2010, Journal of Statistical
Software 36(3), section 3 (from memory): τ² 0.3132, mean −0.7145, standard error 0.1798.
"""

import numpy as np
import pytest
from scipy import stats
from scipy.interpolate import CubicSpline
from scipy.optimize import minimize_scalar

from groundtruth.stats.random_effects import PRIOR_DEGREES_OF_FREEDOM, fit_random_effects

# cases and others among the treated, then among the untreated
TRIALS = np.array(
    [
        (4, 119, 11, 128),
        (6, 300, 29, 274),
        (3, 228, 11, 209),
        (62, 13536, 248, 12619),
        (33, 5036, 47, 5761),
        (180, 1361, 372, 1079),
        (8, 2537, 10, 619),
        (505, 87886, 499, 87892),
        (29, 7470, 45, 7232),
        (17, 1699, 65, 1600),
        (186, 50448, 141, 27197),
        (5, 2493, 3, 2338),
        (27, 16886, 29, 17825),
    ],
    dtype=float,
)
A, B, C, D = TRIALS.T
LOG_RISK = np.log(A / (A + B)) - np.log(C / (C + D))
VARIANCE = 1 / A - 1 / (A + B) + 1 / C - 1 / (C + D)


def at_spread(spread):
    """The package's fit at the grid point nearest to ``spread``, by a prior that puts it there."""
    effects = fit_random_effects(LOG_RISK, np.diag(VARIANCE), prior_scale=spread)
    nearest = int(np.abs(effects.spread - spread).argmin())
    return effects, nearest


def test_spread_by_reml_is_the_published_one():
    """Where the restricted likelihood is largest: the spread's posterior density over its prior,
    a spline through the grid."""
    effects = fit_random_effects(LOG_RISK, np.diag(VARIANCE), prior_scale=0.1)
    step = np.convolve(np.diff(effects.spread), [0.5, 0.5])
    prior = stats.t(PRIOR_DEGREES_OF_FREEDOM, scale=0.1)
    likelihood = CubicSpline(
        effects.spread, np.log(effects.weight / step) - prior.logpdf(effects.spread)
    )
    best = minimize_scalar(lambda t: -likelihood(t), bounds=(0.1, 2.0), method="bounded")
    assert best.x**2 == pytest.approx(0.3132, abs=1e-4)


def test_mean_at_that_spread_is_the_published_one():
    spread = 0.3132**0.5
    effects, j = at_spread(spread)
    assert effects.spread[j] == pytest.approx(spread, rel=0.03)  # the grid is that fine
    assert effects.estimate[j, 0] == pytest.approx(-0.7145, abs=0.002)
    assert effects.covariance[j, 0, 0] ** 0.5 == pytest.approx(0.1798, rel=0.03)


def test_mean_agrees_with_statsmodels_at_each_spread():
    """The same estimator at every spread of the grid: its own weights, written out there."""
    meta_analysis = pytest.importorskip("statsmodels.stats.meta_analysis")
    effects = fit_random_effects(LOG_RISK, np.diag(VARIANCE), prior_scale=0.3)
    theirs = meta_analysis.combine_effects(LOG_RISK, VARIANCE, method_re="iterated")
    own = fit_random_effects(LOG_RISK, np.diag(VARIANCE + theirs.tau2), prior_scale=0.3)
    assert own.estimate[0, 0] == pytest.approx(theirs.mean_effect_re, rel=1e-6)
    assert own.covariance[0, 0, 0] == pytest.approx(theirs.var_eff_w_re, rel=1e-6)
    assert effects.estimate[0, 0] == pytest.approx(theirs.mean_effect_fe, rel=1e-6)


def test_spread_lies_by_the_one_of_moments():
    """Paule & Mandel's spread by statsmodels lies inside the posterior's middle."""
    meta_analysis = pytest.importorskip("statsmodels.stats.meta_analysis")
    theirs = meta_analysis.combine_effects(LOG_RISK, VARIANCE, method_re="iterated").tau2 ** 0.5
    spread = fit_random_effects(LOG_RISK, np.diag(VARIANCE), prior_scale=1.0).spread_moments()
    assert abs(spread.value - theirs) < spread.std
