"""Random processes in state-space form, the building blocks of the model of a pass.

Each is a sum of first-order modes driven by the same white noise: its states are the modes, so
that the transition is diagonal, F = diag(e^(−Δt/τ)), and what is observed is their sum. With P the
covariance of the states at any instant, Q_ij = P_ij·(1 − F_i·F_j) and k(t) = Σ_ij F_i(|t|)·P_ij;
discretisation is exact (Särkkä & Solin, *Applied Stochastic Differential Equations*, 2019, 6.2 and
12.3, from memory). Parameters are mappings from name to array; a number stands for itself.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.correlation import exponential_correlation

Array = NDArray[np.float64]
Parameters = Mapping[str, Array]
Entries = dict[tuple[int, int], Array]
"""Entries of a symmetric matrix, the upper triangle by row and column; others are 0."""


class Component(ABC):
    """A stationary process, the sum of its modes.

    ``step_s`` and ``lag_s`` have any shape that goes with that of the parameters.
    """

    @abstractmethod
    def times_s(self, p: Parameters) -> tuple[Array, ...]:
        """Time constant τ of each mode."""

    @abstractmethod
    def stationary(self, p: Parameters) -> Entries:
        """P, the covariance of the modes at any one instant."""

    def transition(self, p: Parameters, step_s: Array) -> list[Array]:
        """The diagonal of F over a step."""
        return [exponential_correlation(step_s / tau) for tau in self.times_s(p)]

    def process_noise(self, p: Parameters, step_s: Array) -> Entries:
        """Q over a step, P − F·P·Fᵀ."""
        rate = [1 / tau for tau in self.times_s(p)]
        return {
            (i, j): -value * np.expm1(-step_s * (rate[i] + rate[j]))
            for (i, j), value in self.stationary(p).items()
        }

    def amplitudes(self, p: Parameters) -> list[Array]:
        """What each mode adds to k(0): the sum of its row of P."""
        modes = range(len(self.times_s(p)))
        at = self.stationary(p)
        rows = [[at[min(i, j), max(i, j)] for j in modes] for i in modes]
        return [np.asarray(sum(row)) for row in rows]

    def covariance(self, p: Parameters, lag_s: Array) -> Array:
        """k, the covariance of the process at two instants ``lag_s`` apart."""
        kept = self.transition(p, np.abs(lag_s))
        return np.asarray(sum(a * f for a, f in zip(self.amplitudes(p), kept, strict=True)))


@dataclass(frozen=True, slots=True)
class GaussMarkov(Component):
    """First-order Gauss-Markov (Ornstein-Uhlenbeck) process: k(t) = σ²·e^(−|t|/τ).

    ``std`` and ``time_s`` are names of parameters, or numbers.
    """

    std: str | float
    time_s: str | float

    def times_s(self, p: Parameters) -> tuple[Array, ...]:
        """One mode: the process itself."""
        return (_value(p, self.time_s),)

    def stationary(self, p: Parameters) -> Entries:
        """Variance at any one instant."""
        return {(0, 0): _value(p, self.std) ** 2}


@dataclass(frozen=True, slots=True)
class SmoothedGaussMarkov(Component):
    """Gauss-Markov process of time constant τ after a low-pass filter of time constant ρ.

    k(t) = σ²·(τ·e^(−|t|/τ) − ρ·e^(−|t|/ρ))/(τ − ρ): once differentiable, an autoregressive
    process of order 2 with real roots; for ρ → 0 a Gauss-Markov process, for ρ → τ a Matérn 3/2.
    ``std`` σ, ``time_s`` τ and ``rise_s`` ρ are names of parameters, or numbers.
    """

    std: str | float
    time_s: str | float
    rise_s: str | float

    def times_s(self, p: Parameters) -> tuple[Array, ...]:
        """The longer and the shorter time constant, never quite alike."""
        one, other = _value(p, self.time_s), _value(p, self.rise_s)
        longer = np.maximum(one, other)
        return longer, np.minimum(np.minimum(one, other), 0.99 * longer)

    def stationary(self, p: Parameters) -> Entries:
        """Covariance of the two modes, of opposite sign, at any one instant."""
        a, b = self.times_s(p)
        size = _value(p, self.std) ** 2 / (a - b) ** 2
        return {
            (0, 0): size * a * (a + b),
            (0, 1): -size * 2 * a * b,
            (1, 1): size * b * (a + b),
        }


@dataclass(frozen=True, slots=True, eq=False)
class IntegratedGaussMarkov:
    """Integral of a Gauss-Markov process v from 0 on; its increments are stationary.

    ``variance`` and ``time_s`` τ are those of the process under the integral. The modes, which add
    up to the integral, are a random walk and −τ·v.
    """

    variance: Array
    time_s: Array

    def transition(self, step_s: Array) -> list[Array]:
        """The diagonal of F over a step."""
        fade = np.exp(-step_s / self.time_s)
        return [np.ones_like(fade), fade]

    def process_noise(self, step_s: Array) -> Entries:
        """Q over a step."""
        x, scale = step_s / self.time_s, self.variance * self.time_s**2
        return {
            (0, 0): 2 * scale * x,
            (0, 1): 2 * scale * np.expm1(-x),
            (1, 1): -scale * np.expm1(-2 * x),
        }

    def start(self) -> Entries:
        """Covariance of the modes where the integral is 0 and v is stationary."""
        scale = self.variance * self.time_s**2
        return {(0, 0): scale, (0, 1): -scale, (1, 1): scale}

    def structure(self, lag_s: Array) -> Array:
        """Structure function: variance of the integral's change, 2·σ²·τ²·(x/τ − 1 + e^(−x/τ))."""
        x = np.abs(lag_s) / self.time_s
        return np.asarray(self.variance * (2 * self.time_s**2 * (x + np.expm1(-x))))

    def structure_slope(self, lag_s: Array) -> Array:
        """Derivative of half the structure function by the lag, odd in it."""
        fade = np.exp(-np.abs(lag_s) / self.time_s)
        return np.asarray(self.variance * (np.sign(lag_s) * self.time_s * (1 - fade)))

    def covariance(self, lag_s: Array) -> Array:
        """Covariance of the process under the integral at two instants ``lag_s`` apart."""
        return np.asarray(self.variance * exponential_correlation(np.abs(lag_s) / self.time_s))


def _value(p: Parameters, name: str | float) -> Array:
    return p[name] if isinstance(name, str) else np.asarray(name, dtype=float)
