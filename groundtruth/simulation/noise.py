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


def smoothed_gauss_markov(
    rng: np.random.Generator,
    shape: tuple[int, ...],
    step_s: float,
    std: float,
    time_s: float,
    rise_s: float,
) -> Array:
    """Gauss–Markov noise of ``time_s`` after a one-pole low-pass of ``rise_s``, scaled to ``std``.

    Stationary from its first value on; smooth, but nothing in it comes late. With ``rise_s`` 0
    plain Gauss–Markov noise.
    """
    from scipy.signal import lfilter

    if rise_s == 0:
        return gauss_markov(rng, shape, step_s, std, time_s)
    driven = gauss_markov(rng, shape, step_s, 1.0, time_s)
    a, b = float(np.exp(-step_s / time_s)), float(np.exp(-step_s / rise_s))
    # variance of the output, and its covariance with the input, of y[k] = b·y[k−1] + (1−b)·x[k]
    variance = (1 - b) / (1 + b) * (1 + a * b) / (1 - a * b)
    shared = (1 - b) / (1 - a * b)
    first = shared * driven[..., :1]
    first = first + np.sqrt(variance - shared**2) * rng.standard_normal(first.shape)
    start = first - (1 - b) * driven[..., :1]
    smooth = lfilter([1 - b], [1.0, -b], driven, axis=-1, zi=start)[0]
    return np.asarray(smooth * (std / np.sqrt(variance)))


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
