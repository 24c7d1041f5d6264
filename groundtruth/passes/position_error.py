"""Covariance of the position error over some seconds, read off the straight legs.

Across a straight leg the tractor hardly moves, so what is seen there is position error (and
some centimetres of weave). Its structure function S(t) = mean (w(i+t) − w(i))² is fitted by a sum
of simple covariances, which then serve for the error along the leg too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..core.correlation import exponential_correlation, matern32_correlation
from ..core.plane import Axis
from .resampling import PlaneTrack

Array = NDArray[np.float64]

_EXPONENTIAL_S = np.array([2.0, 5.0, 12.0, 30.0])
HIDDEN_STD_M, HIDDEN_S = 1.0, 20.0
"""A phone's error also drifts, by this much over this time, where a straight leg shows nothing of
it: set on the errors of real phones, on which stands were else taken for rolling."""
UNEVEN_SPEED_M_S = 0.5
"""How far reported speeds stray from the even ramps that the ends are judged by: a real tractor
gathered speed over the whole pass, and its passes else came out half as long."""
HIDDEN_BESIDE_SPEEDS_M = 0.3
"""The same where the phone reports its speed: the speed then tells a stand from a drift."""
_MATERN_S = np.array([1.5, 4.0])
"""Times of once differentiable covariances: phones that smooth inside."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ErrorCovariance:
    """Covariance of the error as a sum: white, exponential, Matérn; ``variance_m2`` (7,) of each.

    ``smoothed`` says that neighbouring steps of the error resemble each other, as in phones that
    smooth inside: the error then changes by more than √2 times as much in twice the time.
    ``freezes`` says that the phone repeats fixes when it stands. Error that lasts longer than
    about a minute is left out: it is the same on all fixes of a short window. ``hidden_std_m`` is
    the size of the drift that no straight leg shows.
    """

    variance_m2: Array
    smoothed: bool = False
    freezes: bool = False
    hidden_std_m: float = HIDDEN_STD_M

    def covariance(self, lag_s: Array) -> Array:
        """Covariance of two errors ``lag_s`` apart, of its shape. [m²]"""
        lag = np.abs(lag_s)
        hidden = self.hidden_std_m**2 * exponential_correlation(lag / HIDDEN_S)
        return np.asarray(_correlations(lag) @ self.variance_m2 + hidden)

    def structure_m2(self, lag_s: Array) -> Array:
        """Structure function: mean square change of the error over ``lag_s``, of its shape. [m²]"""
        return np.asarray(2 * (self.covariance(np.zeros(1))[0] - self.covariance(lag_s)))


def _correlations(lag_s: Array) -> Array:
    """Correlation of each part at a lag, (…, 7)."""
    lag = lag_s[..., None]
    return np.concatenate(
        [
            (lag == 0).astype(float),
            exponential_correlation(lag / _EXPONENTIAL_S),
            matern32_correlation(lag / _MATERN_S),
        ],
        axis=-1,
    )


def fit_position_error(fixes: PlaneTrack, spans: Sequence[tuple[float, float]]) -> ErrorCovariance:
    """Covariance of the error, from across the straight legs between the given instants."""
    pieces = [_across(fixes, begin, end) for begin, end in spans]
    step = float(np.median(np.diff(fixes.time_s)))
    return _fitted(pieces, step, freezes=bool(fixes.frozen.mean() > 0.02))


def fit_speed_error(
    fixes: PlaneTrack, spans: Sequence[tuple[float, float]]
) -> ErrorCovariance | None:
    """Error of the reported speeds between the given instants, the driver's unevenness included.

    None where fewer than half of the speeds are known. "Metres" are m/s here.
    """
    pieces = []
    for begin, end in spans:
        a, b = np.searchsorted(fixes.time_s, [begin, end]).tolist()
        speed = fixes.speed_m_s[a:b]
        speed = speed[np.isfinite(speed)]
        # away from standing at the ends and on the way
        speed = speed[speed > 0.5 * np.median(speed)] if len(speed) else speed
        pieces.append(speed)
    if not sum(map(len, pieces)) or np.isfinite(fixes.speed_m_s).mean() < 0.5:
        return None
    step = float(np.median(np.diff(fixes.time_s)))
    return replace(_fitted(pieces, step, freezes=False), hidden_std_m=UNEVEN_SPEED_M_S)


def _fitted(pieces: list[Array], step: float, *, freezes: bool) -> ErrorCovariance:
    """Sum of covariances that fits the structure function of evenly spaced series."""
    from scipy.optimize import nnls

    pieces = [piece for piece in pieces if len(piece) >= 6]
    if not pieces:
        return ErrorCovariance(variance_m2=np.array([0.05, 0, 0.25, 0, 0, 0, 0]), freezes=freezes)
    longest = max(len(piece) for piece in pieces) // 2
    lags = np.unique(np.geomspace(1, max(1, min(longest, 45 / step)), 14).astype(np.int64))
    found, weight = [], []
    for lag in lags.tolist():
        squares = np.concatenate([(p[lag:] - p[:-lag]) ** 2 for p in pieces if len(p) > lag])
        # robust against jumps: the median of a squared normal variable is 0.4549 of its mean
        found.append(float(np.median(squares)) / 0.4549)
        weight.append(np.sqrt(len(squares) / lag))
    structure = np.maximum(np.array(found), 1e-6)
    basis = 2 * (1 - _correlations(lags.astype(float) * step))
    scale = np.array(weight) / structure
    variance, _ = nnls(basis * scale[:, None], structure * scale)
    variance[0] = max(variance[0], 1e-4)
    double = structure[list(lags).index(2)] if 2 in lags else 0.0
    smoothed = step < 2 and double > 2.3 * structure[0] and structure[0] > 4e-4
    return ErrorCovariance(variance_m2=variance, smoothed=bool(smoothed), freezes=freezes)


def _across(fixes: PlaneTrack, begin_s: float, end_s: float) -> Array:
    """Offsets from a parabola across a leg, (k,)."""
    a, b = np.searchsorted(fixes.time_s, [begin_s, end_s]).tolist()
    part = fixes.cut(a, b - 1)
    xy, time = part.xy_m[:, ~part.jump], part.time_s[~part.jump]
    if xy.shape[1] < 6:
        return np.zeros(0)
    chord = xy[:, -1] - xy[:, 0]
    across = Axis(*(chord / max(float(np.hypot(*chord)), 1e-9)).tolist()).across(*xy)
    x = np.linspace(-1, 1, len(time))
    return np.asarray(
        across - np.polynomial.polynomial.polyval(x, np.polynomial.polynomial.polyfit(x, across, 2))
    )
