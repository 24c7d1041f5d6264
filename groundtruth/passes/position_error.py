"""How far positions wander from the truth in a given time, read off the straight runs.

Across a straight run the tractor hardly moves, so what is seen there is position error (and some
centimetres of weave). Its structure function S(t) = mean (w(i+t) − w(i))² is fitted by a sum of
simple covariances, which then serve for the error along the run too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .resampling import Points

Array = NDArray[np.float64]

_ROUGH_S = np.array([2.0, 5.0, 12.0, 30.0])  # times of exponential covariances
_SMOOTH_S = np.array([1.5, 4.0])  # times of once differentiable ones: smoothing phones


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Wander:
    """Position error as a sum of covariances; ``variance_m2`` has shape (7,): white, rough, smooth.

    ``smoothed`` says that neighbouring steps of the error resemble each other, as in phones that
    smooth inside: the error then changes by more than √2 times as much in twice the time.

    ``freezes`` says that the phone repeats positions when it stands.

    Slower wander than about a minute is left out: it is the same on all points of a short window.
    """

    variance_m2: Array
    smoothed: bool = False
    freezes: bool = False

    def covariance(self, lag_s: Array) -> Array:
        """Covariance of two errors ``lag_s`` apart, of its shape. [m²]"""
        lag = np.abs(lag_s)[..., None]
        parts = np.concatenate(
            [(lag == 0).astype(float), np.exp(-lag / _ROUGH_S), _once(lag / _SMOOTH_S)], axis=-1
        )
        return np.asarray(parts @ self.variance_m2)

    def step_m2(self, lag_s: Array) -> Array:
        """Mean square change of the error over ``lag_s``, of its shape. [m²]"""
        return np.asarray(2 * (self.variance_m2.sum() - self.covariance(lag_s)))


def _once(x: Array) -> Array:
    """Matérn covariance of order 3/2, (1 + x)·e^(−x): once differentiable."""
    return np.asarray((1 + x) * np.exp(-x))


def fit_wander(points: Points, spans: Sequence[tuple[float, float]]) -> Wander:
    """Wander across the straight runs that lie between the given instants."""
    pieces = [_across(points, begin, end) for begin, end in spans]
    step = float(np.median(np.diff(points.time_s)))
    return _fitted(pieces, step, freezes=bool(points.frozen.mean() > 0.02))


def fit_speed_error(points: Points, spans: Sequence[tuple[float, float]]) -> Wander | None:
    """Error of the reported speeds between the given instants, the driver's unevenness included.

    None where fewer than half of the speeds are known. "Metres" are m/s here.
    """
    pieces = []
    for begin, end in spans:
        a, b = np.searchsorted(points.time_s, [begin, end]).tolist()
        speed = points.speed_m_s[a:b]
        speed = speed[np.isfinite(speed)]
        # away from standing at the ends and on the way
        speed = speed[speed > 0.5 * np.median(speed)] if len(speed) else speed
        pieces.append(speed)
    if not sum(map(len, pieces)) or np.isfinite(points.speed_m_s).mean() < 0.5:
        return None
    return _fitted(pieces, float(np.median(np.diff(points.time_s))), freezes=False)


def _fitted(pieces: list[Array], step: float, *, freezes: bool) -> Wander:
    """Sum of covariances that fits the structure function of evenly spaced series."""
    pieces = [piece for piece in pieces if len(piece) >= 6]
    if not pieces:
        return Wander(variance_m2=np.array([0.05, 0, 0.25, 0, 0, 0, 0]), freezes=freezes)
    longest = max(len(piece) for piece in pieces) // 2
    lags = np.unique(np.geomspace(1, max(1, min(longest, 45 / step)), 14).astype(np.int64))
    found, weight = [], []
    for lag in lags.tolist():
        squares = np.concatenate([(p[lag:] - p[:-lag]) ** 2 for p in pieces if len(p) > lag])
        # robust against jumps: the median of a squared normal variable is 0.4549 of its mean
        found.append(float(np.median(squares)) / 0.4549)
        weight.append(np.sqrt(len(squares) / lag))
    structure = np.maximum(np.array(found), 1e-6)
    lag_s = (lags * step)[:, None]
    basis = 2 * np.concatenate(
        [np.ones_like(lag_s), 1 - np.exp(-lag_s / _ROUGH_S), 1 - _once(lag_s / _SMOOTH_S)], axis=1
    )
    scale = np.array(weight) / structure
    variance = _nonnegative(basis * scale[:, None], structure * scale)
    variance[0] = max(variance[0], 1e-4)
    double = structure[list(lags).index(2)] if 2 in lags else 0.0
    smoothed = step < 2 and double > 2.3 * structure[0] and structure[0] > 4e-4
    return Wander(variance_m2=variance, smoothed=bool(smoothed), freezes=freezes)


def _across(points: Points, begin_s: float, end_s: float) -> Array:
    """Offsets from a parabola across a run, (k,)."""
    a, b = np.searchsorted(points.time_s, [begin_s, end_s]).tolist()
    part = points.cut(a, b - 1)
    xy, time = part.xy_m[:, ~part.jump], part.time_s[~part.jump]
    if xy.shape[1] < 6:
        return np.zeros(0)
    chord = xy[:, -1] - xy[:, 0]
    across = (xy[1] * chord[0] - xy[0] * chord[1]) / max(float(np.hypot(*chord)), 1e-9)
    x = np.linspace(-1, 1, len(time))
    return np.asarray(
        across - np.polynomial.polynomial.polyval(x, np.polynomial.polynomial.polyfit(x, across, 2))
    )


def _nonnegative(a: Array, b: Array) -> Array:
    """Least squares with x ≥ 0, by coordinate descent; small and well enough conditioned here."""
    gram, right = a.T @ a, a.T @ b
    x = np.zeros(len(right))
    for _ in range(300):
        for i in range(len(x)):
            x[i] = max(0.0, x[i] + (right[i] - gram[i] @ x) / gram[i, i])
    return x
