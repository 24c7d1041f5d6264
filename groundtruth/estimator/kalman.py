"""The model filtered for many parameter sets and passes side by side.

What is wanted, D, is a linear functional of the states, and regression coefficients enter
linearly; so the same filter runs over several columns, the data, the regressors, and the
covariance of D with every observation, and the Gram matrix of the whitened columns holds the
restricted likelihood and the mean and variance of D (the "augmented Kalman filter", P. de Jong,
Annals of Statistics 19, 1991, 1073-1083, from memory; whitening a covariance: Rasmussen & Williams
2006, 2.25-2.26 with the Cholesky factor, from memory). The cost is linear in the number of fixes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .batch import Timeline
from .regressors import position_columns, speed_columns
from .state_space import (
    INDEX,
    NEW,
    OLD,
    Q_BOTH,
    Q_CORRELATED,
    Q_MEDIUM,
    Q_PLACE,
    Q_SLOW,
    Q_SPEED,
    REACH,
    STATES,
    WHITE,
    Model,
    first_white,
    travel_covariance,
)

Array = NDArray[np.float64]

SCALES_TOGETHER = 8
"""So many innovation variances are multiplied before a logarithm is taken."""


@dataclass(frozen=True, slots=True, eq=False)
class Filtered:
    """What the filter leaves for each axis and parameter set.

    Shapes end in (axes, sets) with axes along for every pass, then across where it is used.
    ``gram`` (columns, columns, …) is Σ v·vᵀ/S of the innovations of the columns, ``log_scale`` is
    Σ log S; ``travel_var`` (passes, sets) is the variance of Δg before any fix.
    """

    gram: Array
    log_scale: Array
    travel_var: Array


def run_filter(line: Timeline, values: Array, *, doppler: bool = False) -> Filtered:
    """Filter both axes of every pass with every parameter set of ``values`` (parameters, sets)."""
    model = Model(line, values)
    steps, passes = line.step_s.shape
    axes, sets = line.kind_of.shape[1], values.shape[1]
    size, split = axes * sets, passes * sets
    states, columns = (STATES + 1, 5) if doppler else (STATES, 4)
    between, travel_var = travel_covariance(line, values)
    design = position_columns(model, line, values, between, columns).reshape(steps, columns, size)
    speeds = speed_columns(line, values).reshape(steps, columns, split) if doppler else None
    heard = np.repeat(line.speed_seen, sets, axis=1)
    seen = np.repeat(line.seen, sets, axis=1)
    seen = np.concatenate([seen, seen], axis=1)[:, :size]
    every = np.asarray(line.seen.all(axis=1))
    white2 = np.tile(values[INDEX["doppler_white_m_s"]] ** 2, passes)
    cov = model.start(line, values, states).reshape(states, states, size)
    mean = np.zeros((states, columns, size))
    gram = np.zeros((columns, columns, size))
    log_scale, product = np.zeros(size), np.ones(size)
    cov_row, mean_row = np.empty((states, size)), np.empty((columns, size))
    room, room_along = _Room(states, columns, size), _Room(states, columns, split)
    for t in range(steps):
        if t:
            k = np.take(model.rows, model.index[t], axis=1).reshape(len(model.rows), size)
            old, new, reach, keep = k[OLD], k[NEW], k[REACH], k[:states]
            # y joins this fix with the one before: how the states there go with u there is carried
            was = _sum_of_places(cov)
            u_was = _sum_of_places(was)
            expected = _sum_of_places(mean)
            expected *= old
            # one step on: g gains by its speed, all fade, each gains its noise
            np.multiply(cov[1], reach, out=cov_row)
            cov[0] += cov_row
            np.multiply(cov[:, 1], reach, out=cov_row)
            cov[:, 0] += cov_row
            was[0] += reach * was[1]
            np.multiply(mean[1], reach, out=mean_row)
            mean[0] += mean_row
            cov *= keep[:, None]
            cov *= keep
            was *= keep
            mean *= keep[:, None]
            cov[0, 0] += k[Q_PLACE]
            cov[0, 1] += k[Q_BOTH]
            cov[1, 0] += k[Q_BOTH]
            cov[1, 1] += k[Q_SPEED]
            cov[2, 2] += k[Q_SLOW]
            cov[3, 3] += k[Q_MEDIUM]
            if doppler:
                cov[4, 4] += k[Q_CORRELATED]
            np.add(mean[0], mean[2], out=mean_row)
            mean_row += mean[3]
            mean_row *= new
            expected += mean_row
            shared = _sum_of_places(cov)
            shared *= new
            was *= old
            # Var y = old²·uu + 2·old·new·uu' + new²·u'u' + white, in the terms at hand
            spread = _sum_of_places(was)
            spread *= new
            u_was *= old
            u_was *= old
            spread += u_was
            shared += was
            spread += new * _sum_of_places(shared)
            spread += k[WHITE]
            innovation = np.subtract(design[t], expected, out=expected)
        else:
            shared = _sum_of_places(cov)
            white = np.tile(first_white(line, values), (axes // passes, 1))
            spread = _sum_of_places(shared) + white.ravel()
            innovation = design[0].copy()
        if every[t]:
            weight = 1 / spread
        else:
            weight = seen[t] / spread
            spread = np.where(seen[t] > 0, spread, 1.0)
        product *= spread
        _learn(mean, cov, gram, innovation, shared, weight, room)
        if speeds is not None and heard[t].any():
            along = (..., slice(None, split))
            shared = cov[:, 1][along] + cov[:, 4][along]
            spread = shared[1] + shared[4] + white2
            weight = heard[t] / spread
            innovation = speeds[t] - mean[1][along] - mean[4][along]
            product[:split] *= np.where(heard[t] > 0, spread, 1.0)
            _learn(mean[along], cov[along], gram[along], innovation, shared, weight, room_along)
        if t % SCALES_TOGETHER == SCALES_TOGETHER - 1:
            log_scale += np.log(product)
            product[:] = 1.0
    log_scale += np.log(product)
    return Filtered(
        gram.reshape(columns, columns, axes, sets), log_scale.reshape(axes, sets), travel_var
    )


class _Room:
    """Arrays to work in, taken once: fresh memory in every step costs more than the sums."""

    def __init__(self, states: int, columns: int, size: int) -> None:
        self.gain = np.empty((states, size))
        self.cov = np.empty((states, states, size))
        self.mean = np.empty((states, columns, size))
        self.gram = np.empty((columns, columns, size))
        self.weighed = np.empty((columns, size))


def _sum_of_places(a: Array) -> Array:
    """g + slow + medium of arrays whose first axis is the state."""
    total = a[0] + a[2]
    total += a[3]
    return np.asarray(total)


def _learn(
    mean: Array,
    cov: Array,
    gram: Array,
    innovation: Array,
    shared: Array,
    weight: Array,
    room: _Room,
) -> None:
    """One scalar observation, in place. ``shared`` (states, …) is its covariance with the states,
    ``weight`` one over its variance, 0 where nothing was observed."""
    gain = np.multiply(shared, weight, out=room.gain)
    weighed = np.multiply(innovation, weight, out=room.weighed)
    gram += np.multiply(innovation[:, None], weighed, out=room.gram)
    mean += np.multiply(gain[:, None], innovation, out=room.mean)
    cov -= np.multiply(gain[:, None], shared, out=room.cov)
