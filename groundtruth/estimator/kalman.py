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

from dataclasses import dataclass
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from .state_space import StateSpace, Step

Array = NDArray[np.float64]

SCALES_TOGETHER = 8
"""So many innovation variances are multiplied before a logarithm is taken."""


@dataclass(frozen=True, slots=True, eq=False)
class Observed:
    """What is observed at every step: ``columns`` (steps, columns, passes, sets) of data and
    regressors, ``seen`` (steps, passes) 1 where there is an observation, else 0, and the variance
    ``white`` (sets,) of its white noise."""

    columns: Array
    seen: Array
    white: Array


@dataclass(frozen=True, slots=True, eq=False)
class Filtered:
    """What the filter leaves for each pass and parameter set.

    ``gram`` (columns, columns, passes, sets) is Σ v·vᵀ/S of the innovations of the columns,
    ``log_scale`` (passes, sets) is Σ log S.
    """

    gram: Array
    log_scale: Array


def run_filter(
    model: StateSpace,
    places: Observed,
    speeds: Observed | None = None,
    speed_per_mode: Array | None = None,
) -> Filtered:
    """Filter one axis of every pass with every parameter set.

    ``speeds`` are observed as ``speed_per_mode`` (sets,) times the second state plus the last.
    """
    _, columns, passes, sets = places.columns.shape
    filtering = _Filter(model, columns, passes, sets)
    every = np.asarray(places.seen.all(axis=1))
    for t, step in enumerate(chain((None,), model.steps())):
        if step is not None:
            filtering.predict(step)
        filtering.observe_position(places, t, every=bool(every[t]))
        if speeds is not None and speed_per_mode is not None and speeds.seen[t].any():
            filtering.observe_speed(speeds, t, speed_per_mode)
        if t % SCALES_TOGETHER == SCALES_TOGETHER - 1:
            filtering.take_logarithm()
    filtering.take_logarithm()
    return Filtered(filtering.gram, filtering.log_scale)


class _Filter:
    """Mean columns and covariance of the states, and what the innovations add up to.

    All arrays end in (passes, sets) and are changed in place: fresh memory in every step costs
    more than the sums. A ``row`` is what an observation needs: its covariance with the states,
    then its expectation less its value for each column.
    """

    def __init__(self, model: StateSpace, columns: int, passes: int, sets: int) -> None:
        n, shape = model.order, (passes, sets)
        self.model = model
        self.both = np.zeros((n, n + columns, *shape))  # [P | M]
        self.cov = self.both[:, :n]
        self.cov[:] = model.start
        self.variances = np.einsum("iips->ips", self.cov)  # a view of the diagonal
        self.gram = np.zeros((columns, columns, *shape))
        self.log_scale, self.product = np.zeros(shape), np.ones(shape)
        self.row = np.empty((n + columns, *shape))
        self.gain = np.empty((n, *shape))
        self.weighed = np.empty((columns, *shape))
        self.change = np.empty((n, n + columns, *shape))
        self.gram_change = np.empty((columns, columns, *shape))

    def predict(self, step: Step) -> None:
        """x ← F·x: P ← F·P·Fᵀ + Q and M ← F·M."""
        self.both *= step.kept[:, None]
        self.cov *= step.kept
        self.variances += step.noise
        for (i, j), q in zip(self.model.beside, step.beside, strict=True):
            self.cov[i, j] += q
            self.cov[j, i] += q

    def observe_position(self, places: Observed, t: int, *, every: bool) -> None:
        """The sum of the states of the position, at all passes or those that have a fix."""
        k = self.model.positions
        row = np.add.reduce(self.both[:k], axis=0, out=self.row)
        variance = np.add.reduce(row[:k], axis=0) + places.white
        self._update(row, variance, places.columns[t], None if every else places.seen[t])

    def observe_speed(self, speeds: Observed, t: int, per_mode: Array) -> None:
        """A Doppler speed: the second state times ``per_mode``, plus the last."""
        row = per_mode * self.both[1] + self.both[-1]
        n = self.model.order
        variance = per_mode * row[1] + row[n - 1] + speeds.white
        self._update(row, variance, speeds.columns[t], speeds.seen[t])

    def _update(self, row: Array, variance: Array, y: Array, seen: Array | None) -> None:
        """One scalar observation y (columns, passes, sets); ``seen`` is 0 where it is none.

        Gain K = P·hᵀ/S; P ← P − K·h·P, M ← M + K·(y − h·M).
        """
        n = self.model.order
        row[n:] -= y
        if seen is None:
            weight = 1 / variance
        else:
            weight = seen[:, None] / variance
            variance = np.where(seen[:, None] > 0, variance, 1.0)
        self.product *= variance
        gain = np.multiply(row[:n], weight, out=self.gain)
        weighed = np.multiply(row[n:], weight, out=self.weighed)
        self.gram += np.multiply(row[n:, None], weighed, out=self.gram_change)
        self.both -= np.multiply(gain[:, None], row, out=self.change)

    def take_logarithm(self) -> None:
        """Add up the logarithms of the innovation variances so far."""
        self.log_scale += np.log(self.product)
        self.product[:] = 1.0
