"""Hypotheses about a day, each with the filter of its own: beds so far, offset, spacing, wander.

The state of a hypothesis is (c, δp, d, λ): the day's offset across the block (m), what the spacing
is over the one it assumes (m), the wander of the phone at this instant (m), and the relative error
that all lengths of the day share. Given the beds everything is linear and normal: a Kalman filter.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .pattern import Array, Ints, Trace

MOST_KEPT = 400


@dataclass(slots=True)
class Hypotheses:
    """One hypothesis a row; J beds are told apart."""

    mean: Array  # (h, 4)
    cov: Array  # (h, 4, 4)
    score: Array  # (h,)
    noise: Array  # (h, 3): wander (m), its correlation time (s), what is left (m)
    spacing: Array  # (h,) about which δp is counted
    scatter: Array  # (h,) variance of the day's lengths about those of the beds (m²)
    stride: Ints  # (h,) 0 before the second bed
    bed: Ints  # (h,)
    seen: NDArray[np.bool_]  # (h, J)
    path: Ints  # (h, passes so far)

    def take(self, rows: Ints) -> Hypotheses:
        """Some of them, each as often as it is named."""
        return Hypotheses(*(getattr(self, name)[rows] for name in self.__slots__))

    def best(self) -> Hypotheses:
        """The likeliest."""
        if len(self.score) <= MOST_KEPT:
            return self
        return self.take(np.argpartition(-self.score, MOST_KEPT)[:MOST_KEPT])

    def wait(self, seconds: float) -> None:
        """Let the wander go on for a while (in place)."""
        keep = np.exp(-max(seconds, 0.0) / self.noise[:, 1])
        self.mean[:, 2] *= keep
        self.cov[:, 2, :] *= keep[:, None]
        self.cov[:, :, 2] *= keep[:, None]
        self.cov[:, 2, 2] += self.noise[:, 0] ** 2 * (1 - keep**2)

    def first_place(self, across_m: float, base: Array, index: Array) -> Array:
        """Log likelihood of a first place on every bed, shape (h, J).

        ``base`` (h or 1, J) are places of the beds at δp = 0, ``index`` (J,) what δp moves them by.
        """
        g, m, c = index[None, :], self.mean, self.cov
        away = across_m - base - (m[:, 0] + m[:, 2])[:, None] - m[:, 1][:, None] * g
        constant = c[:, 0, 0] + 2 * c[:, 0, 2] + c[:, 2, 2] + self.noise[:, 2] ** 2
        variance = constant[:, None] + 2 * (c[:, 0, 1] + c[:, 1, 2])[:, None] * g
        variance = variance + c[:, 1, 1][:, None] * g * g
        return np.asarray(-0.5 * (np.log(variance) + away**2 / variance))

    def observe_places(self, trace: Trace, base: Array, index: Array) -> None:
        """Take in all places of a pass (in place); ``base`` and ``index`` (h,) of its bed."""
        one = np.ones_like(index)
        row = np.stack([one, index, one, np.zeros_like(index)], axis=1)
        for i, (when, across) in enumerate(zip(trace.time_s, trace.across_m, strict=True)):
            if i:
                self.wait(float(when - trace.time_s[i - 1]))
            away = across - base - (row * self.mean).sum(axis=1)
            variance = self._update(row, away, self.noise[:, 2] ** 2)
            self.score = self.score - 0.5 * (np.log(variance) + away**2 / variance)

    def observe_length(self, length_m: float, usual_m: Array, variance: Array) -> None:
        """Take a length into λ (in place): ``usual_m`` (h,) of the bed, its variance; inf passes
        a hypothesis over."""
        row = np.zeros((len(usual_m), 4))
        row[:, 3] = usual_m
        self._update(row, length_m - usual_m * (1 + self.mean[:, 3]), variance)

    def _update(self, row: Array, away: Array, variance: Array) -> Array:
        """One observation; returns the variance of what was expected of it."""
        reach = np.einsum("hij,hj->hi", self.cov, row)
        expected = (row * reach).sum(axis=1) + variance
        gain = reach / expected[:, None]
        self.mean = self.mean + gain * away[:, None]
        self.cov = self.cov - gain[:, :, None] * reach[:, None, :]
        return np.asarray(expected)
