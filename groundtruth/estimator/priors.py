"""The parameters of the position error and of the driving, and what is known of them beforehand.

Everything is positive, so beliefs are log-normal: a median and a factor. Those of a phone were
fitted to the errors of real phones beside a centimetre reference: a slow error of half a metre
over minutes, a faster one of a metre over some 25 s that is once differentiable without being
late, and centimetres of white noise.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

PARAMETERS: Final = (
    "slow_m",
    "slow_s",
    "fast_m",
    "fast_s",
    "rise_s",
    "white_m",
    "drive",
    "drive_s",
    "ramp_s",
    "doppler_white_m_s",
    "doppler_slow_m_s",
)
"""Order of the parameters in every vector: standard deviation and correlation time of the slow and
the fast error of each axis, and the time constant that makes the latter smooth; white noise;
relative variation of the driving speed and its correlation time; seconds to reach the working speed
or to stop from it; white and correlated noise of the Doppler speed."""


def parameters_used(*, doppler: bool) -> tuple[str, ...]:
    """Names of the parameters, the last two only where Doppler speeds are used."""
    return PARAMETERS if doppler else PARAMETERS[:-2]


DOPPLER_SLOW_S: Final = 5.0
"""Correlation time of the correlated part of the Doppler error, s."""
DOPPLER_BIAS_M_S: Final = 0.0115
"""Prior standard deviation of the constant Doppler bias: even within ± 0.02 m/s, a/√3."""
LATE_STD_S: Final = 0.3
"""How late a phone may show where it is, standard deviation, s: most phones 0.02 ± 0.1 s, by 310
logs of real phones beside a reference, a few of them one second and more."""
WEAVE_M: Final = 0.07
"""Standard deviation of the tractor's weave across the row, m (common practice, no source)."""
WEAVE_S: Final = 10.0
"""Correlation time of the weave, s (common practice, no source)."""


@dataclass(frozen=True, slots=True, eq=False)
class Prior:
    """Log-normal beliefs: ``log_median`` and ``log_std``, both of shape (parameters,).

    ``across`` tells whether the places across a pass show the noise.
    """

    name: str
    log_median: Array
    log_std: Array
    across: bool = True

    def values(self, standard: Array) -> Array:
        """Parameters of shape (parameters, n) from standard normal ones of the same shape."""
        return np.asarray(np.exp(self.log_median[:, None] + self.log_std[:, None] * standard))


def _prior(name: str, *, across: bool = True, **median_and_factor: tuple[float, float]) -> Prior:
    table = np.array([median_and_factor[p] for p in PARAMETERS])
    return Prior(name, np.log(table[:, 0]), np.log(table[:, 1]), across)


PHONE: Final = _prior(
    "phone",
    slow_m=(0.65, 2.0),
    slow_s=(170.0, 1.5),
    fast_m=(1.6, 1.8),
    fast_s=(26.0, 2.2),
    rise_s=(3.0, 2.4),
    white_m=(0.045, 2.2),
    drive=(0.05, 2.2),
    drive_s=(25.0, 1.5),
    ramp_s=(2.7, 1.8),
    doppler_white_m_s=(0.09, 1.6),
    doppler_slow_m_s=(0.035, 1.6),
)
"""A phone or a consumer receiver."""

SURVEY: Final = _prior(
    "centimetre receiver",
    across=False,
    slow_m=(0.018, 1.2),
    slow_s=(120.0, 1.9),
    fast_m=(0.010, 1.15),
    fast_s=(10.0, 1.6),
    rise_s=(0.1, 1.5),
    white_m=(0.008, 1.4),
    drive=(0.035, 1.4),
    drive_s=(25.0, 1.5),
    ramp_s=(2.7, 1.8),
    doppler_white_m_s=(0.04, 1.8),
    doppler_slow_m_s=(0.02, 1.8),
)
"""A receiver with carrier-phase corrections. Across the pass it shows the weave rather than its
noise, so that only the places along are used."""


def with_timed_turns(prior: Prior) -> Prior:
    """The prior where timed turns are the clock: what is left of the driving is the wheel's slip,
    which changes by about 1 % over some metres (common practice, no source)."""
    log_median, log_std = prior.log_median.copy(), prior.log_std.copy()
    for name, median, factor in (("drive", 0.01, 1.6), ("drive_s", 10.0, 1.8)):
        log_median[PARAMETERS.index(name)] = np.log(median)
        log_std[PARAMETERS.index(name)] = np.log(factor)
    return replace(prior, log_median=log_median, log_std=log_std)
