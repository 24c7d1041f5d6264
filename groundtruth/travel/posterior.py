"""Integrate the noise parameters out: how likely each set is, and what each says of the ground.

One set of parameters serves all passes of a day, since it is the same phone. Sets are drawn by
importance sampling about the mode of the posterior, adapted where needed (O. Cappé et al.,
"Population Monte Carlo", J. Comput. Graph. Stat. 13, 2004, 907-929; mixture weights after Veach
& Guibas 1995; both from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .columns import BIAS, DATA, GROUND, PLACE, SPEED, eliminated
from .filter import run_filter
from .model import INDEX
from .noise import DOPPLER_BIAS_M_S, PARAMETERS, Prior
from .stretch import Stretch
from .timeline import Timeline, covered, timeline

Array = NDArray[np.float64]

BIAS_PRECISION = 1 / DOPPLER_BIAS_M_S**2
DRAWS = 64
TAIL = 8.0
"""Degrees of freedom of the proposals: heavier tails than a normal keep the weights even."""
MOST_ROUNDS = 3
MOST_STEPS = 6
MOST_STEPS_OF_ALL = 2
"""Steps towards the mode with some of the passes, and from there with all of them."""
GRID_WHITE = (-2.5, -1.7, -0.9, -0.1, 0.7, 1.5)
GRID_LAG = (-2.0, -1.0, 0.0, 0.8, 1.6)
LINE_SEARCH = np.array([0.0, 0.1, 0.3, 0.6, 1.6])
SETTLED = 1.0
"""The climb ends when the expected gain is below half of this."""
CLIMB_PASSES = 4
"""So many passes of the day show where the mode is to be sought."""
PART_PASSES = 24
"""Passes that are filtered side by side: more only cost memory."""
ENOUGH = 12.0
"""Effective number of sets at which sampling stops."""


@dataclass(frozen=True, slots=True, eq=False)
class SetMoments:
    """What each parameter set says; shapes (passes, sets), likelihood (sets,).

    Given a set, D_p = ``mean`` + ``per_bias``·β with variance ``var``, and the Doppler bias β of
    the day has ``bias`` and ``bias_var``, shape (sets,), already put into ``mean``.
    """

    log_likelihood: Array
    mean: Array
    var: Array
    per_bias: Array
    bias_var: Array


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """Weighted parameter sets with their moments. ``weight`` (sets,) sums to 1."""

    weight: Array
    values: Array
    moments: SetMoments
    effective: float

    def mean_values(self) -> Array:
        """Geometric mean of each parameter, shape (parameters,)."""
        return np.asarray(np.exp(np.log(self.values) @ self.weight))


@dataclass(frozen=True, slots=True, eq=False)
class _Part:
    """What some of the passes say, before the bias of the day joins them; shapes (…, sets)."""

    log_likelihood: Array
    base: Array
    var: Array
    per_bias: Array
    bias_information: Array
    bias_pull: Array


def evaluate(lines: Sequence[Timeline], values: Array, *, doppler: bool) -> SetMoments:
    """Likelihood of all passes, and moments of the ground covered, for each set of parameters."""
    parts = [_evaluate_part(line, values, doppler=doppler) for line in lines]
    log_like = np.sum([p.log_likelihood for p in parts], axis=0)
    base = np.concatenate([p.base for p in parts])
    var = np.maximum(np.concatenate([p.var for p in parts]), 0.0)
    per_bias = np.concatenate([p.per_bias for p in parts])
    if not doppler:
        return SetMoments(log_like, base, var, per_bias, np.zeros(values.shape[1]))
    precision = np.sum([p.bias_information for p in parts], axis=0) + BIAS_PRECISION
    pull = np.sum([p.bias_pull for p in parts], axis=0)
    bias = pull / precision
    log_like += 0.5 * (pull * bias - np.log(precision / BIAS_PRECISION))
    return SetMoments(log_like, base + per_bias * bias, var, per_bias, 1 / precision)


def _evaluate_part(line: Timeline, values: Array, *, doppler: bool) -> _Part:
    filtered = run_filter(line, values, doppler=doppler)
    passes = line.step_s.shape[1]
    gram = filtered.gram[:, :, :passes].copy()
    # with D's own terms in, elimination leaves its mean, variance and answer to the bias
    reach = covered(line, values[INDEX["ramp_s"]]) / line.span_s[:, None]
    gram[SPEED, GROUND] -= reach
    gram[GROUND, SPEED] -= reach
    gram[GROUND, GROUND] -= filtered.travel_var
    left, log_det = eliminated(gram, (PLACE, SPEED))
    log_like = -0.5 * (log_det + left[DATA, DATA]).sum(axis=0)
    if line.across_used:
        across, log_det = eliminated(filtered.gram[:, :, passes:], (PLACE, SPEED, GROUND))
        log_like -= 0.5 * (log_det + across[DATA, DATA]).sum(axis=0)
    log_like -= 0.5 * filtered.log_scale.sum(axis=0)
    base, var = left[DATA, GROUND], -left[GROUND, GROUND]
    if not doppler:
        nothing = np.zeros(values.shape[1])
        return _Part(log_like, base, var, np.zeros_like(base), nothing, nothing)
    return _Part(
        log_like,
        base,
        var,
        -left[BIAS, GROUND],
        left[BIAS, BIAS].sum(axis=0),
        left[BIAS, DATA].sum(axis=0),
    )


def _spread_points(count: int, dims: int, offset: int) -> Array:
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

    points = _spread_points(count, dims + 1, offset)
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


@dataclass(frozen=True, slots=True, eq=False)
class Mode:
    """Where the parameters are most likely: standard coordinates, curvature there, and values."""

    standard: Array
    curvature: Array
    values: Array


def _target(
    lines: Sequence[Timeline], prior: Prior, *, doppler: bool
) -> Callable[[Array], tuple[Array, SetMoments]]:
    """Log posterior density of sets (dims, n) in standard coordinates, with their moments."""

    def at(x: Array) -> tuple[Array, SetMoments]:
        moments = evaluate(lines, prior.values(_full(x)), doppler=doppler)
        return moments.log_likelihood - 0.5 * (x * x).sum(axis=0), moments

    return at


def _full(x: Array) -> Array:
    """All parameters, those of the Doppler speed at their median where they are left out."""
    return np.concatenate([x, np.zeros((len(PARAMETERS) - len(x), x.shape[1]))])


def most_likely(
    stretches: Sequence[Stretch], prior: Prior, *, doppler: bool, start: Mode | None = None
) -> Mode:
    """The mode of the parameters, sought on some of the passes, from a coarse grid and ``start``.

    In standard coordinates the prior is N(0, 1) for each parameter.
    """
    dims = len(PARAMETERS) if doppler else len(PARAMETERS) - 2
    few = stretches[:: max(1, -(-len(stretches) // CLIMB_PASSES))]
    at = _target([timeline(few, doppler=doppler, across=prior.across)], prior, doppler=doppler)

    def log_target(x: Array) -> Array:
        return at(x)[0]

    best = _best_of_grid(log_target, dims, None if start is None else start.standard)
    width = np.full(dims, 0.5)
    width[[PARAMETERS.index("white_m"), PARAMETERS.index("lag_s")]] = 0.2
    place, curvature = _climb(log_target, best, width, MOST_STEPS)
    # the prior bends the target once, the passes as often as there are passes
    scaled = np.eye(dims) + (curvature - np.eye(dims)) * (len(stretches) / len(few))
    return Mode(place, _bounded(scaled), prior.values(_full(place[:, None]))[:, 0])


def integrate(
    stretches: Sequence[Stretch], prior: Prior, *, doppler: bool, mode: Mode | None = None
) -> Posterior:
    """Draw sets of parameters about their mode, and weigh them by all passes."""
    mode = mode or most_likely(stretches, prior, doppler=doppler)
    dims = len(mode.standard)
    at = _target(
        [
            timeline(stretches[i : i + PART_PASSES], doppler=doppler, across=prior.across)
            for i in range(0, len(stretches), PART_PASSES)
        ],
        prior,
        doppler=doppler,
    )
    centre, curvature = mode.standard, mode.curvature
    if len(stretches) > CLIMB_PASSES:  # the mode so far is that of some passes only
        centre, curvature = _climb(
            lambda x: at(x)[0], centre, _widths(curvature), MOST_STEPS_OF_ALL
        )
    factor = _cholesky(1.1 * np.linalg.inv(curvature))
    proposals: list[tuple[float, Array, Array]] = []
    drawn: list[Array] = []
    targets: list[Array] = []
    moments: list[SetMoments] = []
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
        peak = parts.max(axis=0)
        log_proposal = peak + np.log(np.exp(parts - peak).sum(axis=0))
        weight = _weights(np.concatenate(targets) - log_proposal)
        effective = float(1 / (weight**2).sum())
        if effective >= ENOUGH or len(proposals) >= MOST_ROUNDS:
            break
        centre = x @ weight
        away = x - centre[:, None]
        cov = (weight * away) @ away.T
        trust = effective / (effective + 2 * dims)
        factor = _cholesky(1.05 * (trust * cov + (1 - trust) * factor @ factor.T))
    joined = SetMoments(
        np.concatenate([m.log_likelihood for m in moments]),
        np.concatenate([m.mean for m in moments], axis=1),
        np.concatenate([m.var for m in moments], axis=1),
        np.concatenate([m.per_bias for m in moments], axis=1),
        np.concatenate([m.bias_var for m in moments]),
    )
    return Posterior(weight, prior.values(_full(x)), joined, effective)


def _widths(curvature: Array) -> Array:
    """Steps for differences: most of a standard deviation."""
    return np.asarray(np.clip(0.8 / np.sqrt(np.diag(curvature)), 0.05, 0.6))


def _cholesky(matrix: NDArray[np.floating]) -> Array:
    return np.asarray(np.linalg.cholesky(matrix), dtype=np.float64)


def _bounded(curvature: Array) -> Array:
    """The curvature with its eigenvalues kept positive and not much below the prior's."""
    value, vector = np.linalg.eigh(curvature)
    return np.asarray((vector * np.maximum(np.abs(value), 0.7)) @ vector.T)


def _best_of_grid(log_target: Callable[[Array], Array], dims: int, start: Array | None) -> Array:
    """The best point of a coarse grid over white noise and lag, and of ``start``.

    The likelihood is far from quadratic in those two.
    """
    white, lag = PARAMETERS.index("white_m"), PARAMETERS.index("lag_s")
    grid = np.zeros((dims, len(GRID_WHITE) * len(GRID_LAG)))
    grid[white], grid[lag] = (g.ravel() for g in np.meshgrid(GRID_WHITE, GRID_LAG))
    if start is not None:
        grid = np.concatenate([grid, start[:, None]], axis=1)
    return grid[:, int(np.argmax(log_target(grid)))]


def _climb(
    log_target: Callable[[Array], Array], start: Array, width: Array, steps: int
) -> tuple[Array, Array]:
    """Newton's method with a batched line search from ``start``, differences over ``width``.

    Returns the mode and the curvature (minus the Hessian) there.
    """
    dims = len(start)
    centre, height = start.copy(), -np.inf
    first, second = np.triu_indices(dims, 1)
    curvature = np.eye(dims)
    line = np.zeros((dims, 0))
    for step_number in range(steps):
        step = np.diag(width)
        points = np.concatenate([step, -step, step[:, first] + step[:, second]], axis=1)
        # shorter and longer steps of the last move ride along, should the full one have gone wrong
        tries = np.concatenate([centre[:, None] + points, centre[:, None], line], axis=1)
        f = log_target(tries)
        count = points.shape[1]
        here = float(f[count])
        up, down, pair = f[:dims], f[dims : 2 * dims], f[2 * dims : count]
        slope = (up - down) / (2 * width)
        bend = np.zeros((dims, dims))
        bend[first, second] = -(pair - up[first] - up[second] + here) / (
            width[first] * width[second]
        )
        bend += bend.T
        bend[np.diag_indices(dims)] = -(up - 2 * here + down) / width**2
        best = int(np.argmax(f))
        if best > count and f[best] > here + max(1.0, 0.3 * (here - height)):
            # a shorter or longer step was better: go on from there
            centre, height = tries[:, best], float(f[best])
            line = np.zeros((dims, 0))
            continue
        curvature = _bounded(bend)
        move = np.linalg.solve(curvature, slope)
        size = float(move @ curvature @ move)
        move *= min(1.0, 1.5 / max(float(np.abs(move).max()), 1e-9))
        height = here
        if size < SETTLED or step_number == steps - 1:
            return centre + move, curvature
        line = centre[:, None] + move[:, None] * LINE_SEARCH
        centre = centre + move
        width = _widths(curvature)
    return centre, curvature
