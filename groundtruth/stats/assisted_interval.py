"""An estimate with prior knowledge whose interval holds whatever the prior says.

The posterior of a figure under a prior is right on average over the prior, and wrong for just those
whom the prior fits badly. The interval here is not the posterior's: it is made of all truths θ that
a test at 5 % does not reject, so that it holds the truth with 95 % for every θ. The prior only
chooses the tests: for each θ the figures y are accepted that are likely under θ and unlikely
elsewhere, those with the greatest f(y | θ)/m(y), with m the density of figures that the prior
foretells. Among all intervals that hold for every θ this is the shortest on average over the prior
[Pratt 1961, Journal of the American Statistical Association 56:549; Yu & Hoff 2018, Biometrika
105:319; both from memory].
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.measured import Measured
from .random_effects import NormalMixture

Array = NDArray[np.float64]

_STEPS, _REACH = 40, 9
"""Grid points to a standard deviation, and standard deviations to either side."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Assisted:
    """``posterior`` are mean and standard deviation under the prior, ``interval`` holds with 95 %
    for every truth, ``weight`` (k,) are the posterior weights of the prior's components."""

    posterior: Measured
    interval: tuple[float, float]
    weight: tuple[float, ...]


def assisted(own: NormalMixture, prior: NormalMixture, level: float = 0.95) -> Assisted:
    """A figure known as ``own`` from its data alone, with the prior's help.

    Parameters
    ----------
    own : distribution of the truth about the figure, by the data alone; its shape about its mean
        is taken as that of the errors.
    prior : distribution of truths.

    A prior that says nothing leaves the figure as it is:

    >>> one = NormalMixture(weight=np.ones(1), mean=np.array([0.1]), variance=np.array([4e-4]))
    >>> flat = NormalMixture(weight=np.ones(1), mean=np.zeros(1), variance=np.array([1e4]))
    >>> [round(end, 3) for end in assisted(one, flat).interval]
    [0.061, 0.139]
    """
    posterior, weight = _posterior(own, prior)
    return Assisted(posterior=posterior, interval=_interval(own, prior, level), weight=weight)


def _posterior(own: NormalMixture, prior: NormalMixture) -> tuple[Measured, tuple[float, ...]]:
    """Mean and standard deviation, weights of the prior's components: products of normals."""
    variance = own.variance[:, None] + prior.variance
    log_weight = np.log(own.weight[:, None] + 1e-300) + np.log(prior.weight)
    apart = own.mean[:, None] - prior.mean
    log_weight = log_weight - 0.5 * np.log(variance) - 0.5 * apart**2 / variance
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    share = prior.variance / variance
    mixture = NormalMixture(
        weight=weight.ravel(),
        mean=(prior.mean + share * apart).ravel(),
        variance=(share * own.variance[:, None]).ravel(),
    )
    return mixture.moments(), tuple(weight.sum(axis=0).tolist())


def _interval(own: NormalMixture, prior: NormalMixture, level: float) -> tuple[float, float]:
    """The least and the greatest truth that is not rejected."""
    moments = own.moments()
    step = moments.std / _STEPS
    half = _REACH * _STEPS
    error = _even(half) * step
    density = _density(error, own.weight, moments.value - own.mean, own.variance)
    density /= density.sum()
    truths = moments.value + error  # the greatest and the least lie inside
    figures = moments.value + _even(2 * half) * step
    foretold = _foretold(figures, own, prior, moments.value)
    with np.errstate(divide="ignore"):
        likely = np.log(density)
    covered = np.empty(len(truths))
    for i in range(len(truths)):
        ratio = likely - np.log(foretold[i : i + len(error)])
        at = 2 * half - i  # of the error that leads from this truth to the figure
        covered[i] = density[ratio > ratio[at]].sum() + density[at] / 2
    accepted = np.flatnonzero(covered <= level)
    first, last = int(accepted[0]), int(accepted[-1])
    low = _crossing(truths, covered, first, first - 1, level)
    return low, _crossing(truths, covered, last, last + 1, level)


def _even(half: int) -> Array:
    """Whole numbers from −half to half."""
    return np.arange(-half, half + 1, dtype=np.float64)


def _crossing(truths: Array, covered: Array, inside: int, outside: int, level: float) -> float:
    """Where the share crosses the level between two neighbours of the grid."""
    if not 0 <= outside < len(truths):
        return float(truths[inside])
    part = (level - covered[inside]) / (covered[outside] - covered[inside])
    return float(truths[inside] + part * (truths[outside] - truths[inside]))


def _density(at: Array, weight: Array, mean: Array, variance: Array) -> Array:
    """Density of a mixture of normals at points (n,)."""
    std = np.sqrt(variance)
    z = (at[:, None] - mean) / std
    return np.asarray((weight / std * np.exp(-0.5 * z**2)).sum(axis=1) / np.sqrt(2 * np.pi))


def _foretold(at: Array, own: NormalMixture, prior: NormalMixture, figure: float) -> Array:
    """Density of figures that the prior foretells, at points (n,)."""
    weight = (own.weight[:, None] * prior.weight).ravel()
    mean = (figure - own.mean[:, None] + prior.mean).ravel()
    variance = (own.variance[:, None] + prior.variance).ravel()
    return _density(at, weight, mean, variance) + 1e-300
