"""The Kalman filter over many parameter sets and passes side by side.

What is wanted, D, is a linear functional of the states, and regression coefficients enter
linearly; so the same filter runs over several columns, the data, the regressors, and the
covariance of D with every observation, and the Gram matrix of the whitened columns holds the
restricted likelihood and the mean and variance of D (the "augmented Kalman filter", P. de Jong,
Annals of Statistics 19, 1991, 1073-1083, from memory; whitening a covariance: Rasmussen & Williams
2006, 2.25-2.26 with the Cholesky factor, from memory). The cost is linear in the number of fixes.

Since F and the gain act from the left on the covariance P and on the mean columns M alike, both
stand in one array [P | M].
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from .batch import Batch
from .regressors import position_columns, speed_columns
from .state_space import Displacement, StateSpace, Step, named, position_variance

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


def run_filter(batch: Batch, values: Array, *, doppler: bool = False) -> Filtered:
    """Filter both axes of every pass with every parameter set of ``values`` (parameters, sets)."""
    model = StateSpace(batch, values, doppler=doppler)
    steps, passes = batch.step_s.shape
    axes, sets = batch.kind_of.shape[1], values.shape[1]
    size, split = axes * sets, passes * sets
    columns = 5 if doppler else 4
    between, travel_var = Displacement(batch, values).travel_covariance()
    places = position_columns(model, between, columns).reshape(steps, columns, size)
    place_var = np.tile(position_variance(values), axes)
    seen = np.repeat(batch.seen, sets, axis=1)
    seen = np.concatenate([seen, seen], axis=1)[:, :size]
    every = np.asarray(batch.seen.all(axis=1))
    filtering = _Filter(model, columns, size)
    if doppler:
        speeds = speed_columns(batch, values).reshape(steps, columns, split)
        heard = np.repeat(batch.speed_seen, sets, axis=1)
        speed_var = np.tile(named(values)["doppler_white_m_s"] ** 2, passes)
    for t, step in enumerate(chain((None,), model.steps())):
        at = None if every[t] else seen[t]
        if step is not None:
            filtering.predict(step)
        filtering.observe_position(places[t], place_var, at)
        if doppler and heard[t].any():
            filtering.observe_speed(speeds[t], speed_var, heard[t])
        if t % SCALES_TOGETHER == SCALES_TOGETHER - 1:
            filtering.take_logarithm()
    filtering.take_logarithm()
    return Filtered(
        filtering.gram.reshape(columns, columns, axes, sets),
        filtering.log_scale.reshape(axes, sets),
        travel_var,
    )


class _Filter:
    """Mean columns and covariance of the states, and what the innovations add up to.

    All arrays end in (size,), passes along and across times sets, and are changed in place: fresh
    memory in every step costs more than the sums. A ``row`` is what an observation needs: its
    covariance with the states, then its expectation less its value for each column.
    """

    def __init__(self, model: StateSpace, columns: int, size: int) -> None:
        n = model.order
        self.model = model
        self.both = np.zeros((n, n + columns, size))  # [P | M]
        self.cov = self.both[:, :n]
        self.cov[:] = model.start().reshape(n, n, size)
        self.variances = np.einsum("iik->ik", self.cov)  # a view of the diagonal
        self.gram = np.zeros((columns, columns, size))
        self.log_scale, self.product = np.zeros(size), np.ones(size)
        self.row = np.empty((n + columns, size))
        self.gain = np.empty((n, size))
        self.weighed = np.empty((columns, size))
        self.change = np.empty((n, n + columns, size))
        self.gram_change = np.empty((columns, columns, size))
        self.moved = np.empty((max(1, len(model.transitions)), n + columns, size))

    def predict(self, step: Step) -> None:
        """x ← F·x: P ← F·P·Fᵀ + Q and M ← F·M."""
        self._times_transition(self.both, step)
        self._times_transition(self.cov.swapaxes(0, 1), step)
        self.variances += step.noise
        for (i, j), q in zip(self.model.noises, step.noise_beside, strict=True):
            self.cov[i, j] += q
            self.cov[j, i] += q

    def _times_transition(self, a: Array, step: Step) -> None:
        """F·a for a (states, any, size), in place."""
        moved = self.moved[:, : a.shape[1]]
        for (_, j), f, out in zip(self.model.transitions, step.beside, moved, strict=False):
            np.multiply(a[j], f, out=out)
        a *= step.diagonal[:, None]
        for (i, _), gained in zip(self.model.transitions, moved, strict=False):
            a[i] += gained

    def observe_position(self, y: Array, white: Array, seen: Array | None) -> None:
        """y = h·x + N(0, R), for each column (columns, size)."""
        places = self.model.position_states
        row = _sum(self.both, places, out=self.row)
        row[self.model.order :] -= y
        self._update(row, _sum(row, places) + white, seen)

    def observe_speed(self, y: Array, white: Array, heard: Array) -> None:
        """A Doppler speed, h the sum of the speed states, along the passes only."""
        part, states = np.s_[..., : y.shape[-1]], self.model.speed_states
        row = _sum(self.both[part], states)
        row[self.model.order :] -= y
        self._update(row, _sum(row, states) + white, heard)

    def _update(self, row: Array, variance: Array, seen: Array | None) -> None:
        """One scalar observation on all or the first of the axes; ``seen`` is 0 where it is none.

        Gain K = P·hᵀ/S; P ← P − K·h·P, M ← M + K·(y − h·M).
        """
        n, part = self.model.order, np.s_[..., : row.shape[-1]]
        if seen is None:
            weight = 1 / variance
        else:
            weight = seen / variance
            variance = np.where(seen > 0, variance, 1.0)
        self.product[part] *= variance
        gain = np.multiply(row[:n], weight, out=self.gain[part])
        weighed = np.multiply(row[n:], weight, out=self.weighed[part])
        self.gram[part] += np.multiply(row[n:, None], weighed, out=self.gram_change[part])
        self.both[part] -= np.multiply(gain[:, None], row, out=self.change[part])

    def take_logarithm(self) -> None:
        """Add up the logarithms of the innovation variances so far."""
        self.log_scale += np.log(self.product)
        self.product[:] = 1.0


def _sum(a: Array, which: Sequence[int], out: Array | None = None) -> Array:
    """The sum of some entries of the first axis."""
    total = np.add(a[which[0]], a[which[1]], out=out)
    for i in which[2:]:
        total += a[i]
    return np.asarray(total)
