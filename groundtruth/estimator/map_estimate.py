"""Maximum a posteriori (MAP) estimate of the noise parameters of a day, by Newton's method."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .batch import Batch, batch_of
from .marginal_likelihood import ConditionalMoments, evaluate
from .pass_coordinates import Stretch
from .priors import PARAMETERS, Prior, parameters_used

Array = NDArray[np.float64]

TEMPER = 0.25
"""The share of the log likelihood that the parameters are believed to have: the level of the error
changes within a morning, so that a hundred fixes teach less of it than the model thinks. A power
posterior (Miller & Dunson 2019, doi 10.1080/01621459.2018.1469995, from memory); 0.2-0.5 do as well
on the errors of real phones. Given the parameters nothing changes."""
MOST_STEPS = 8
GRID_WHITE = (-2.5, -1.7, -0.9, -0.1, 0.7, 1.5)
GRID_RISE = (-2.0, -1.0, 0.0, 1.0)
LINE_SEARCH = np.array([0.0, 0.1, 0.3, 0.6, 1.6])
SETTLED = 2.0
"""The ascent ends when the expected gain is below half of this."""
FLATTEST = 0.7
"""Least curvature that is believed: the prior's is 1."""
FEW_PASSES = 4
"""So many passes of the day show where the mode is to be sought."""


@dataclass(frozen=True, slots=True, eq=False)
class MapEstimate:
    """MAP estimate of the parameters.

    ``standard`` in standard coordinates (dims,), ``curvature`` there, minus the Hessian of the log
    posterior (dims, dims), and ``values`` (parameters,).
    """

    standard: Array
    curvature: Array
    values: Array


def log_posterior(
    batches: Sequence[Batch], prior: Prior, *, doppler: bool
) -> Callable[[Array], tuple[Array, ConditionalMoments]]:
    """Log of the power posterior of sets (dims, n) in standard coordinates, with their moments."""

    def at(x: Array) -> tuple[Array, ConditionalMoments]:
        moments = evaluate(batches, prior.values(with_medians(x)), doppler=doppler)
        return TEMPER * moments.log_likelihood - 0.5 * (x * x).sum(axis=0), moments

    return at


def with_medians(x: Array) -> Array:
    """All parameters, those of the Doppler speed at their median where they are left out."""
    return np.concatenate([x, np.zeros((len(PARAMETERS) - len(x), x.shape[1]))])


def find_map_estimate(
    stretches: Sequence[Stretch], prior: Prior, *, doppler: bool, start: MapEstimate | None = None
) -> MapEstimate:
    """MAP estimate from some of the passes, sought from a coarse grid or from ``start``.

    In standard coordinates the prior is N(0, 1) for each parameter. The curvature is scaled up
    to all passes.
    """
    dims = len(parameters_used(doppler=doppler))
    few = stretches[:: max(1, -(-len(stretches) // FEW_PASSES))]
    share = len(few) / len(stretches)
    at = log_posterior(
        [batch_of(few, doppler=doppler, across=prior.across)], prior, doppler=doppler
    )

    def log_target(x: Array) -> Array:
        return at(x)[0]

    if start is None:
        width = np.full(dims, 0.5)
        width[[PARAMETERS.index("white_m"), PARAMETERS.index("rise_s")]] = 0.2
        best = _best_of_grid(log_target, dims)
        place, curvature = newton_ascent(log_target, best, width, MOST_STEPS)
    else:
        known = _with_passes(start.curvature, share)
        width = difference_steps(known)
        place, curvature = newton_ascent(log_target, start.standard, width, MOST_STEPS, known)
    return MapEstimate(
        place,
        _with_passes(curvature, 1 / share),
        prior.values(with_medians(place[:, None]))[:, 0],
    )


def _with_passes(curvature: Array, times: float) -> Array:
    """The curvature with so many times the passes: the prior bends the target once."""
    prior = np.eye(len(curvature))
    return positive_definite(prior + (curvature - prior) * times)


def _best_of_grid(log_target: Callable[[Array], Array], dims: int) -> Array:
    """The best point of a coarse grid over white noise and rise.

    The likelihood is far from quadratic in those two.
    """
    white, rise = PARAMETERS.index("white_m"), PARAMETERS.index("rise_s")
    grid = np.zeros((dims, len(GRID_WHITE) * len(GRID_RISE)))
    grid[white], grid[rise] = (g.ravel() for g in np.meshgrid(GRID_WHITE, GRID_RISE))
    return grid[:, int(np.argmax(log_target(grid)))]


def newton_ascent(
    log_target: Callable[[Array], Array],
    start: Array,
    width: Array,
    steps: int,
    curvature: Array | None = None,
) -> tuple[Array, Array]:
    """Newton's method with a batched line search from ``start``, differences over ``width``.

    ``log_target`` takes points (dims, n) to (n,); ``start`` and ``width`` (dims,). Returns the
    mode (dims,) and the curvature, minus the Hessian, there (dims, dims). All of the curvature is
    measured once, or given; from there on only its diagonal, to which the rest is scaled: pairs
    of parameters take most of the points, and change little on the way.
    """
    dims = len(start)
    centre, height = start.copy(), -np.inf
    first, second = np.triu_indices(dims, 1)
    line = np.zeros((dims, 0))
    for step_number in range(steps):
        step = np.diag(width)
        points = [step, -step]
        if curvature is None:
            points.append(step[:, first] + step[:, second])
        # shorter and longer steps of the last move ride along, should the full one have gone wrong
        tries = np.concatenate([*(centre[:, None] + p for p in points), centre[:, None], line], 1)
        f = log_target(tries)
        count = tries.shape[1] - line.shape[1] - 1
        here = float(f[count])
        best = int(np.argmax(f))
        if best > count and f[best] > here + max(1.0, 0.3 * (here - height)):
            # a shorter or longer step was better: go on from there
            centre, height = tries[:, best], float(f[best])
            line = np.zeros((dims, 0))
            continue
        up, down, pair = f[:dims], f[dims : 2 * dims], f[2 * dims : count]
        slope = (up - down) / (2 * width)
        bend = -(up - 2 * here + down) / width**2
        if curvature is None:
            curvature = np.zeros((dims, dims))
            curvature[first, second] = -(pair - up[first] - up[second] + here) / (
                width[first] * width[second]
            )
            curvature += curvature.T + np.diag(bend)
        else:
            scale = np.sqrt(np.maximum(bend, FLATTEST) / np.diag(curvature))
            curvature = curvature * np.outer(scale, scale)
        curvature = positive_definite(curvature)
        move = np.linalg.solve(curvature, slope)
        gain = float(move @ slope)
        move *= min(1.0, 1.5 / max(float(np.abs(move).max()), 1e-9))
        height = here
        if gain < SETTLED or step_number == steps - 1:
            return centre + move, curvature
        line = centre[:, None] + move[:, None] * LINE_SEARCH
        centre = centre + move
        width = difference_steps(curvature)
    return centre, np.eye(dims) if curvature is None else curvature


def difference_steps(curvature: Array) -> Array:
    """Steps for differences: most of a standard deviation."""
    return np.asarray(np.clip(0.8 / np.sqrt(np.diag(curvature)), 0.05, 0.6))


def positive_definite(curvature: Array) -> Array:
    """The curvature with its eigenvalues kept positive and not much below the prior's."""
    value, vector = np.linalg.eigh(curvature)
    return np.asarray((vector * np.maximum(np.abs(value), FLATTEST)) @ vector.T)
