"""Correlation functions of stationary random processes.

Rasmussen & Williams, *Gaussian Processes for Machine Learning*, 2006, 4.2.1 (from memory).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def exponential_correlation(lag: Array) -> Array:
    """Correlation e^(−x) of a first-order Gauss-Markov process, ``lag`` x ≥ 0 per its time."""
    return np.asarray(np.exp(-lag))


def matern32_correlation(lag: Array) -> Array:
    """Matérn correlation of order 3/2, (1 + x)·e^(−x), ``lag`` x ≥ 0 per its time.

    The process is once differentiable. Without the factor √3 that some authors put before x.
    """
    return np.asarray((1 + lag) * np.exp(-lag))
