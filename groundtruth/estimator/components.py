"""Random processes in state-space form, the building blocks of the model of a pass.

Each gives the transition F and the process noise Q of a step, the covariance P of its states at
any instant, and the covariance k(t) of its first state, k(t) = [F(|t|)·P]₀₀; discretisation is
exact (Särkkä & Solin, *Applied Stochastic Differential Equations*, 2019, 6.2 and 12.3, from
memory). Parameters are mappings from name to array; a number stands for itself.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from ..core.correlation import exponential_correlation, matern32_correlation

Array = NDArray[np.float64]
Parameters = Mapping[str, Array]
Entries = dict[tuple[int, int], Array]
"""Entries of a square matrix by row and column, of a symmetric one the upper triangle; entries
that are not named are 0."""


class Component(Protocol):
    """A stationary process whose first state adds to what is observed.

    ``step_s`` and ``lag_s`` have any shape that goes with that of the parameters.
    """

    @property
    def order(self) -> int:
        """Number of states."""

    def transition(self, p: Parameters, step_s: Array) -> Entries:
        """F over a step."""

    def process_noise(self, p: Parameters, step_s: Array) -> Entries:
        """Q over a step, P − F·P·Fᵀ."""

    def stationary(self, p: Parameters) -> Entries:
        """P, the covariance of the states at any one instant."""

    def covariance(self, p: Parameters, lag_s: Array) -> Array:
        """k, the covariance of the first state at two instants ``lag_s`` apart."""


@dataclass(frozen=True, slots=True)
class GaussMarkov:
    """First-order Gauss-Markov (Ornstein-Uhlenbeck) process: k(t) = σ²·e^(−|t|/τ).

    ``std`` and ``time_s`` are names of parameters, or numbers.
    """

    std: str | float
    time_s: str | float

    @property
    def order(self) -> int:
        """One state: the process itself."""
        return 1

    def transition(self, p: Parameters, step_s: Array) -> Entries:
        """F over a step."""
        return {(0, 0): exponential_correlation(step_s / _value(p, self.time_s))}

    def process_noise(self, p: Parameters, step_s: Array) -> Entries:
        """Q over a step."""
        kept = exponential_correlation(step_s / _value(p, self.time_s))
        return {(0, 0): _value(p, self.std) ** 2 * (1 - kept**2)}

    def stationary(self, p: Parameters) -> Entries:
        """Variance at any one instant."""
        return {(0, 0): _value(p, self.std) ** 2}

    def covariance(self, p: Parameters, lag_s: Array) -> Array:
        """Covariance at two instants ``lag_s`` apart."""
        return np.asarray(
            _value(p, self.std) ** 2
            * exponential_correlation(np.abs(lag_s) / _value(p, self.time_s))
        )


@dataclass(frozen=True, slots=True)
class Matern32:
    """Matérn process of order 3/2: k(t) = σ²·(1 + |t|/τ)·e^(−|t|/τ).

    ``std`` and ``time_s`` are names of parameters, or numbers.
    """

    std: str | float
    time_s: str | float

    @property
    def order(self) -> int:
        """Two states: the process and its derivative by time."""
        return 2

    def transition(self, p: Parameters, step_s: Array) -> Entries:
        """F over a step."""
        tau = _value(p, self.time_s)
        x = step_s / tau
        fade = np.exp(-x)
        return {
            (0, 0): (1 + x) * fade,
            (0, 1): step_s * fade,
            (1, 0): -x / tau * fade,
            (1, 1): (1 - x) * fade,
        }

    def process_noise(self, p: Parameters, step_s: Array) -> Entries:
        """Q over a step."""
        tau, variance = _value(p, self.time_s), _value(p, self.std) ** 2
        x = step_s / tau
        fade = np.exp(-2 * x)
        return {
            (0, 0): variance * (1 - (1 + 2 * x + 2 * x * x) * fade),
            (0, 1): variance / tau * 2 * x * x * fade,
            (1, 1): variance / tau**2 * (1 - (1 - 2 * x + 2 * x * x) * fade),
        }

    def stationary(self, p: Parameters) -> Entries:
        """Covariance of the two states at any one instant."""
        variance = _value(p, self.std) ** 2
        return {(0, 0): variance, (1, 1): variance / _value(p, self.time_s) ** 2}

    def covariance(self, p: Parameters, lag_s: Array) -> Array:
        """Covariance at two instants ``lag_s`` apart."""
        correlation = matern32_correlation(np.abs(lag_s) / _value(p, self.time_s))
        return np.asarray(_value(p, self.std) ** 2 * correlation)


@dataclass(frozen=True, slots=True)
class SmoothedGaussMarkov:
    """Gauss-Markov process of time constant τ after a low-pass filter of time constant ρ.

    k(t) = σ²·(τ·e^(−|t|/τ) − ρ·e^(−|t|/ρ))/(τ − ρ): once differentiable, an autoregressive
    process of order 2 with real roots; for ρ → 0 a Gauss-Markov process, for ρ → τ a Matérn 3/2.
    ``std`` σ, ``time_s`` τ and ``rise_s`` ρ are names of parameters, or numbers.
    """

    std: str | float
    time_s: str | float
    rise_s: str | float

    @property
    def order(self) -> int:
        """Two states: the process and its derivative by time."""
        return 2

    def _times(self, p: Parameters) -> tuple[Array, Array]:
        """The longer and the shorter time constant, never quite alike."""
        one, other = _value(p, self.time_s), _value(p, self.rise_s)
        longer = np.maximum(one, other)
        return longer, np.minimum(np.minimum(one, other), 0.99 * longer)

    def transition(self, p: Parameters, step_s: Array) -> Entries:
        """F over a step."""
        a, b = self._times(p)
        slow, quick = np.exp(-step_s / a), np.exp(-step_s / b)
        return {
            (0, 0): (a * slow - b * quick) / (a - b),
            (0, 1): a * b * (slow - quick) / (a - b),
            (1, 0): (quick - slow) / (a - b),
            (1, 1): (a * quick - b * slow) / (a - b),
        }

    def process_noise(self, p: Parameters, step_s: Array) -> Entries:
        """Q over a step."""
        f, at = self.transition(p, step_s), self.stationary(p)
        place, speed = at[0, 0], at[1, 1]
        return {
            (0, 0): np.maximum(place - f[0, 0] ** 2 * place - f[0, 1] ** 2 * speed, 0.0),
            (0, 1): -f[0, 0] * f[1, 0] * place - f[0, 1] * f[1, 1] * speed,
            (1, 1): np.maximum(speed - f[1, 0] ** 2 * place - f[1, 1] ** 2 * speed, 0.0),
        }

    def stationary(self, p: Parameters) -> Entries:
        """Covariance of the two states at any one instant."""
        a, b = self._times(p)
        variance = _value(p, self.std) ** 2
        return {(0, 0): variance, (1, 1): variance / (a * b)}

    def covariance(self, p: Parameters, lag_s: Array) -> Array:
        """Covariance of the process at two instants ``lag_s`` apart."""
        a, b = self._times(p)
        apart = np.abs(lag_s)
        mixed = (a * np.exp(-apart / a) - b * np.exp(-apart / b)) / (a - b)
        return np.asarray(_value(p, self.std) ** 2 * mixed)


@dataclass(frozen=True, slots=True, eq=False)
class IntegratedGaussMarkov:
    """Integral of a Gauss-Markov process from 0 on; two states, the integral and the process.

    ``variance`` and ``time_s`` are those of the process under the integral. The integral is not
    stationary, its increments are.
    """

    variance: Array
    time_s: Array

    def transition(self, step_s: Array) -> Entries:
        """F over a step."""
        fade = np.exp(-step_s / self.time_s)
        return {(0, 0): np.ones_like(fade), (0, 1): self.time_s * (1 - fade), (1, 1): fade}

    def process_noise(self, step_s: Array) -> Entries:
        """Q over a step."""
        x = step_s / self.time_s
        fade = np.exp(-x)
        # the series keeps the difference of near-equal terms exact for small steps
        place = np.where(
            x < 1e-2,
            self.time_s**2 * x**3 * (2 / 3 - x / 2 + x * x * 7 / 30),
            self.time_s**2 * (2 * x - 3 + 4 * fade - fade * fade),
        )
        return {
            (0, 0): self.variance * place,
            (0, 1): self.variance * self.time_s * (1 - fade) ** 2,
            (1, 1): self.variance * (1 - fade * fade),
        }

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
    return p[name] if isinstance(name, str) else np.float64(name)  # type: ignore[return-value]
