"""Random processes on an even grid of time."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def gauss_markov(
    rng: np.random.Generator, shape: tuple[int, ...], step_s: float, std: float, time_s: float
) -> Array:
    """First-order Gauss–Markov noise along the last axis, stationary from its first value on.

    x[k+1] = a·x[k] + w, a = exp(−step/time), var(w) = std²·(1 − a²)
    (Brown & Hwang, *Introduction to Random Signals and Applied Kalman Filtering*, from memory).
    """
    from scipy.signal import lfilter

    drive = rng.standard_normal(shape) * std
    if std == 0:
        return drive
    a = float(np.exp(-step_s / time_s))
    drive[..., 1:] *= np.sqrt(1 - a * a)
    return np.asarray(lfilter([1.0], [1.0, -a], drive, axis=-1))


def low_pass(signal: Array, step_s: float, lag_s: float, poles: int) -> Array:
    """``signal`` through ``poles`` equal one-pole filters with a total mean delay of ``lag_s``.

    Each pole is y' = (x − y)/T with T = lag/poles, started in its steady state at the first value
    and run along the last axis.
    """
    from scipy.signal import lfilter

    a = float(np.exp(-step_s * poles / lag_s))
    for _ in range(poles):
        start = signal[..., :1] * a
        signal = np.asarray(lfilter([1 - a], [1.0, -a], signal, axis=-1, zi=start)[0])
    return signal
