"""Random-effects meta-analysis: pool figures with correlated errors whose truths differ.

The figures y (m,) follow

    y = X·β + r + e,    e ~ N(0, C),    r ~ N(0, t²·B)

with a known measuring covariance C, and a spread t of the truths that is not known: how much the
figure really changes from pass to pass. Given t, β is generalised least squares. t itself has the
restricted likelihood (REML; Patterson & Thompson 1971, Biometrika 58:545, eq. 2.3 from memory) and
a weak prior, and is integrated out on a grid, so that the interval of β stays honest when a few
passes say little about t (Gelman 2006, Bayesian Analysis 1:515, on half-t priors for a spread).
With one pass the prior alone speaks.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.measured import Measured

Array = NDArray[np.float64]

PRIOR_DEGREES_OF_FREEDOM = 4.0
"""Of the half-t prior of a spread: near a half-normal in its middle, with tails that let a day of
unusually uneven soil speak for itself. Our choice; docs/formulas.md shows the coverage."""

_GRID = np.expm1(np.linspace(0.0, np.log(41.0), 64))  # 0 … 40 prior scales, dense near 0
_STEP = np.convolve(np.diff(_GRID), [0.5, 0.5])  # trapezoidal rule


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NormalMixture:
    """A weighted mixture of normal distributions; all arrays have shape (g,).

    >>> one = NormalMixture(weight=np.ones(1), mean=np.array([2.0]), variance=np.array([9.0]))
    >>> one.moments()
    Measured(value=2.0, std=3.0)
    >>> [round(end, 2) for end in one.interval()]
    [-3.88, 7.88]
    """

    weight: Array
    mean: Array
    variance: Array

    def moments(self) -> Measured:
        """Mean and standard deviation of the mixture."""
        mean = float(self.weight @ self.mean)
        variance = float(self.weight @ (self.variance + (self.mean - mean) ** 2))
        return Measured(mean, variance**0.5)

    def widened(self, variance: float) -> NormalMixture:
        """The mixture with an independent normal error of that variance added."""
        return NormalMixture(weight=self.weight, mean=self.mean, variance=self.variance + variance)

    def cdf(self, value: float) -> float:
        """Cumulative distribution function: probability of a value below ``value``. [-]"""
        from scipy.special import ndtr

        std = np.sqrt(np.maximum(self.variance, 1e-300))
        return float(self.weight @ ndtr((value - self.mean) / std))

    def interval(self, level: float = 0.95) -> tuple[float, float]:
        """Equal-tailed interval: the quantiles that leave (1 − level)/2 outside on either side."""
        from scipy.optimize import brentq

        std = np.sqrt(self.variance)
        low = float((self.mean - 40 * std).min()) - 1e-12
        high = float((self.mean + 40 * std).max()) + 1e-12
        tail = (1 - level) / 2
        lower, upper = (
            float(brentq(lambda x, p=p: self.cdf(x) - p, low, high, xtol=1e-12))
            for p in (tail, 1 - tail)
        )
        return lower, upper


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Coefficients:
    """The coefficients at each spread of the grid. g grid points, c coefficients.

    ``spread`` (g,) in the unit of the figures, ``weight`` (g,) its posterior weight (sums to 1),
    ``estimate`` (g, c) and ``covariance`` (g, c, c) the coefficients at that spread.
    """

    spread: Array
    weight: Array
    estimate: Array
    covariance: Array

    def contrast(self, factors: Array) -> NormalMixture:
        """Distribution of the linear combination ``factors`` (c,) of the coefficients."""
        return NormalMixture(
            weight=self.weight,
            mean=self.estimate @ factors,
            variance=np.einsum("i,gij,j->g", factors, self.covariance, factors),
        )

    def spread_moments(self) -> Measured:
        """Posterior mean and standard deviation of the spread."""
        mean = float(self.weight @ self.spread)
        return Measured(mean, float(self.weight @ (self.spread - mean) ** 2) ** 0.5)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RandomEffects(Coefficients):
    """The fit of m figures: ``estimator`` (g, c, m) is the linear map from them to the
    coefficients."""

    estimator: Array


def spread_grid(prior_scale: float) -> Array:
    """The spreads at which a fit is made (g,), in the unit of ``prior_scale``."""
    return prior_scale * _GRID


def weights_of(log_likelihood: Array) -> Array:
    """Posterior weights (g,) of the spreads of the grid, which sum to 1."""
    log_prior = (
        -0.5 * (PRIOR_DEGREES_OF_FREEDOM + 1) * np.log1p(_GRID**2 / PRIOR_DEGREES_OF_FREEDOM)
    )
    log_weight = log_likelihood + log_prior + np.log(_STEP)
    weight = np.exp(log_weight - log_weight.max())
    return np.asarray(weight / weight.sum())


class _RestrictedLikelihood:
    """C + t²·B diagonalised once, so that every t costs only sums."""

    def __init__(
        self, figures: Array, covariance: Array, design: Array, between: Array, floor: float
    ) -> None:
        from scipy.linalg import eigh

        # The floor keeps an exact tape or a count without error from making C singular.
        base = covariance + floor**2 * np.eye(len(figures))
        self.ratio, self.vectors = eigh(between, base)
        self.ratio = np.maximum(self.ratio, 0.0)
        self.figures = self.vectors.T @ figures
        self.design = self.vectors.T @ design
        self.log_det_base = float(np.linalg.slogdet(base)[1])

    def at(self, spread: Array) -> tuple[Array, Array, Array]:
        """Restricted log likelihood (g,), estimator (g, c, m) and covariance (g, c, c)."""
        scale = 1 + np.square(spread)[:, None] * self.ratio  # (g, m), eigenvalues over the base's
        weighted = self.design.T[None] / scale[:, None, :]  # (g, c, m)
        information = weighted @ self.design  # (g, c, c)
        covariance = np.linalg.inv(information).astype(np.float64)
        estimator = covariance @ weighted
        residual = self.figures - (estimator @ self.figures) @ self.design.T  # (g, m)
        log_likelihood = -0.5 * (
            self.log_det_base
            + np.log(scale).sum(axis=1)
            + np.linalg.slogdet(information)[1]
            + (residual**2 / scale).sum(axis=1)
        )
        return log_likelihood, estimator, covariance


def fit_random_effects(
    figures: Array,
    covariance: Array,
    *,
    prior_scale: float,
    design: Array | None = None,
    between: Array | None = None,
) -> RandomEffects:
    """The coefficients at each spread of a grid, weighted by the spread's posterior.

    The model is the one at the top of this module.

    Parameters
    ----------
    figures : (m,) the figures y.
    covariance : (m, m) covariance C of their measuring errors, positive semi-definite.
    prior_scale : scale of the half-t prior of the spread, in the unit of the figures.
    design : (m, c) the matrix X, of full column rank; a column of ones where left out.
    between : (m, m) the matrix B, positive semi-definite; the unit matrix where left out.

    Two alike figures, each measured to 0.01, from a population that hardly spreads:

    >>> fitted = fit_random_effects(np.array([0.5, 0.5]), 1e-4 * np.eye(2), prior_scale=1e-6)
    >>> mean = fitted.contrast(np.ones(1)).moments()
    >>> round(mean.value, 6), round(mean.std, 6)
    (0.5, 0.007071)

    Raises
    ------
    ValueError : shapes do not fit, or ``design`` has no full column rank.
    """
    m = len(figures)
    design = np.ones((m, 1)) if design is None else design
    between = np.eye(m) if between is None else between
    if figures.shape != (m,) or covariance.shape != (m, m) or between.shape != (m, m):
        raise ValueError("figures, covariance and between do not fit each other")
    if len(design) != m or np.linalg.matrix_rank(design) < design.shape[1]:
        raise ValueError("the design must have one row per figure and full column rank")
    spread = spread_grid(prior_scale)
    likelihood = _RestrictedLikelihood(
        figures, covariance, design, between, floor=1e-4 * prior_scale
    )
    log_likelihood, estimator, beta_covariance = likelihood.at(spread)
    own_estimator = estimator @ likelihood.vectors.T
    return RandomEffects(
        spread=spread,
        weight=weights_of(log_likelihood),
        estimator=own_estimator,
        estimate=own_estimator @ figures,
        covariance=beta_covariance,
    )
