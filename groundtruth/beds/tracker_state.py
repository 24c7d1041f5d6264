"""Hypotheses about a day, each with a Kalman filter of its own.

The state of a hypothesis is (c, δp, d, λ): the day's offset across the block (m), what the spacing
is over the one it assumes (m), the correlated error of the phone's positions at this instant (m), a
first-order Gauss-Markov process, and the relative error that all lengths of the day share. Given
the beds everything is linear and normal.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .types import Array, Ints, PassObservation

MOST_KEPT = 400


@dataclass(slots=True)
class DayHypotheses:
    """One assignment hypothesis a row, h of them; J beds are told apart."""

    mean: Array  # (h, 4)
    cov: Array  # (h, 4, 4)
    log_weight: Array  # (h,)
    noise: Array  # (h, 3): correlated error (m), its correlation time (s), white noise (m)
    spacing: Array  # (h,) about which δp is counted
    scatter: Array  # (h,) variance of the day's lengths about those of the beds (m²)
    stride: Ints  # (h,) 0 before the second bed
    bed: Ints  # (h,)
    seen: NDArray[np.bool_]  # (h, J)
    path: Ints  # (h, passes so far)

    def select(self, rows: Ints) -> DayHypotheses:
        """The hypotheses of some rows, each as often as it is named."""
        return DayHypotheses(*(getattr(self, name)[rows] for name in self.__slots__))

    def pruned(self) -> DayHypotheses:
        """The likeliest `MOST_KEPT` hypotheses."""
        if len(self.log_weight) <= MOST_KEPT:
            return self
        return self.select(np.argpartition(-self.log_weight, MOST_KEPT)[:MOST_KEPT])

    def predict(self, seconds: float) -> None:
        """Predict the correlated error some seconds ahead (in place)."""
        keep = np.exp(-max(seconds, 0.0) / self.noise[:, 1])
        self.mean[:, 2] *= keep
        self.cov[:, 2, :] *= keep[:, None]
        self.cov[:, :, 2] *= keep[:, None]
        self.cov[:, 2, 2] += self.noise[:, 0] ** 2 * (1 - keep**2)

    def first_position_log_likelihood(self, across_m: float, base: Array, index: Array) -> Array:
        """Log likelihood of a pass's first position on every bed, shape (h, J).

        ``base`` (h or 1, J) are positions of the beds at δp = 0 (m), ``index`` (J,) what δp moves
        them by.
        """
        g, m, c = index[None, :], self.mean, self.cov
        innovation = across_m - base - (m[:, 0] + m[:, 2])[:, None] - m[:, 1][:, None] * g
        constant = c[:, 0, 0] + 2 * c[:, 0, 2] + c[:, 2, 2] + self.noise[:, 2] ** 2
        variance = constant[:, None] + 2 * (c[:, 0, 1] + c[:, 1, 2])[:, None] * g
        variance = variance + c[:, 1, 1][:, None] * g * g
        return np.asarray(-0.5 * (np.log(variance) + innovation**2 / variance))

    def update_positions(self, observation: PassObservation, base: Array, index: Array) -> None:
        """Update with all positions of a pass (in place); ``base``, ``index`` (h,) of its bed."""
        one = np.ones_like(index)
        row = np.stack([one, index, one, np.zeros_like(index)], axis=1)
        for i, (when, across) in enumerate(
            zip(observation.time_s, observation.across_m, strict=True)
        ):
            if i:
                self.predict(float(when - observation.time_s[i - 1]))
            innovation = across - base - (row * self.mean).sum(axis=1)
            variance = self._update(row, innovation, self.noise[:, 2] ** 2)
            self.log_weight = self.log_weight - 0.5 * (np.log(variance) + innovation**2 / variance)

    def update_length(self, length_m: float, usual_m: Array, variance: Array) -> None:
        """Update λ with the length of a pass (in place).

        ``usual_m`` (h,) is the bed's length, ``variance`` (h,) that of a length about it; where it
        is infinite nothing changes.
        """
        row = np.zeros((len(usual_m), 4))
        row[:, 3] = usual_m
        self._update(row, length_m - usual_m * (1 + self.mean[:, 3]), variance)

    def _update(self, row: Array, innovation: Array, variance: Array) -> Array:
        """Kalman update with one observation; returns the variance of its innovation."""
        cross = np.einsum("hij,hj->hi", self.cov, row)
        innovation_variance = (row * cross).sum(axis=1) + variance
        gain = cross / innovation_variance[:, None]
        self.mean = self.mean + gain * innovation[:, None]
        self.cov = self.cov - gain[:, :, None] * cross[:, None, :]
        return np.asarray(innovation_variance)
