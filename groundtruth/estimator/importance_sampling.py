"""The posterior of the noise parameters as weighted draws, by importance sampling.

One set of parameters serves all passes of a day, since it is the same phone. Sets are drawn by
importance sampling about the mode of the posterior, adapted where needed (O. Cappé et al.,
"Population Monte Carlo", J. Comput. Graph. Stat. 13, 2004, 907-929; mixture weights after Veach
& Guibas 1995; both from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .batch import batch_of
from .map_estimate import (
    FEW_PASSES,
    MapEstimate,
    difference_steps,
    find_map_estimate,
    log_posterior,
    newton_ascent,
    with_medians,
)
from .marginal_likelihood import ConditionalMoments
from .pass_coordinates import Stretch
from .priors import Prior

Array = NDArray[np.float64]

DRAWS = 128
TAIL = 8.0
"""Degrees of freedom of the proposals: heavier tails than a normal keep the weights even."""
MOST_ROUNDS = 2
STEPS_OF_ALL = 1
"""Steps towards the mode with all passes of the day, from where some have led."""
PART_PASSES = 24
"""Passes that are filtered side by side: more only cost memory."""
ENOUGH = 24.0
"""Effective number of sets at which sampling stops."""


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """Weighted parameter sets with their moments. ``weight`` (sets,) sums to 1."""

    weight: Array
    values: Array
    moments: ConditionalMoments
    effective: float

    def mean_values(self) -> Array:
        """Geometric mean of each parameter, shape (parameters,)."""
        return np.asarray(np.exp(np.log(self.values) @ self.weight))


def _normal_points(count: int, dims: int, offset: int) -> Array:
    """Quasi-random standard normal points, shape (dims, count): an additive recurrence.

    Generalised golden ratio (M. Roberts, "The unreasonable effectiveness of quasirandom
    sequences", 2018, from memory), mapped through the normal quantile. Deterministic.
    """
    from scipy.special import ndtri

    phi = 2.0
    for _ in range(40):
        phi = (1 + phi) ** (1 / (dims + 1))
    steps = phi ** -np.arange(1, dims + 1)
    index = np.arange(1, count + 1) + offset
    return np.asarray(ndtri((0.5 + np.outer(steps, index)) % 1.0))


def _student_points(count: int, dims: int, offset: int) -> Array:
    """Quasi-random points of a multivariate t with TAIL degrees of freedom, (dims, count)."""
    from scipy.special import gammaincinv, ndtr

    points = _normal_points(count, dims + 1, offset)
    chi_square = 2 * gammaincinv(TAIL / 2, ndtr(points[-1]))
    return np.asarray(points[:-1] * np.sqrt(TAIL / chi_square))


def _log_student(x: Array, mean: Array, factor: Array) -> Array:
    """Log density, up to a constant, of a multivariate t with scale ``factor`` at x (dims, n)."""
    z = np.linalg.solve(factor, x - mean[:, None])
    dims = len(mean)
    inner = np.log1p((z * z).sum(axis=0) / TAIL)
    return np.asarray(-0.5 * (TAIL + dims) * inner - np.log(np.diag(factor)).sum())


def _weights(log_weight: Array) -> Array:
    """Importance weights, cut at √n times their mean, so that no single draw decides.

    Truncated importance sampling (E. Ionides, J. Comput. Graph. Stat. 17, 2008, 295-311, from
    memory).
    """
    weight = np.exp(log_weight - log_weight.max())
    weight = np.minimum(weight, weight.mean() * np.sqrt(len(weight)))
    return np.asarray(weight / weight.sum())


def sample_posterior(
    stretches: Sequence[Stretch], prior: Prior, *, doppler: bool, mode: MapEstimate | None = None
) -> Posterior:
    """Parameter sets drawn about their mode, weighted by all passes."""
    from scipy.special import logsumexp

    mode = mode or find_map_estimate(stretches, prior, doppler=doppler)
    dims = len(mode.standard)
    at = log_posterior(
        [
            batch_of(stretches[i : i + PART_PASSES], doppler=doppler, across=prior.across)
            for i in range(0, len(stretches), PART_PASSES)
        ],
        prior,
        doppler=doppler,
    )
    centre, curvature = mode.standard, mode.curvature
    if len(stretches) > FEW_PASSES:  # the mode so far is that of some passes only
        centre, curvature = newton_ascent(
            lambda x: at(x)[0], centre, difference_steps(curvature), STEPS_OF_ALL, curvature
        )
    factor = _cholesky(1.1 * np.linalg.inv(curvature))
    proposals: list[tuple[float, Array, Array]] = []
    drawn: list[Array] = []
    targets: list[Array] = []
    moments: list[ConditionalMoments] = []
    total = 0
    while True:
        x = centre[:, None] + factor @ _student_points(DRAWS, dims, total)
        reached, found = at(x)
        drawn.append(x)
        targets.append(reached)
        moments.append(found)
        proposals.append((float(DRAWS), centre, factor))
        total += DRAWS
        x = np.concatenate(drawn, axis=1)
        parts = np.stack([np.log(c) + _log_student(x, m, f) for c, m, f in proposals])
        weight = _weights(np.concatenate(targets) - logsumexp(parts, axis=0))
        effective = float(1 / (weight**2).sum())
        if effective >= ENOUGH or len(proposals) >= MOST_ROUNDS:
            break
        centre = x @ weight
        away = x - centre[:, None]
        cov = (weight * away) @ away.T
        trust = effective / (effective + 2 * dims)
        factor = _cholesky(1.05 * (trust * cov + (1 - trust) * factor @ factor.T))
    joined = ConditionalMoments(
        np.concatenate([m.log_likelihood for m in moments]),
        np.concatenate([m.mean for m in moments], axis=1),
        np.concatenate([m.var for m in moments], axis=1),
        np.concatenate([m.per_bias for m in moments], axis=1),
        np.concatenate([m.bias_var for m in moments]),
    )
    return Posterior(weight, prior.values(with_medians(x)), joined, effective)


def _cholesky(matrix: NDArray[np.floating]) -> Array:
    return np.asarray(np.linalg.cholesky(matrix), dtype=np.float64)
