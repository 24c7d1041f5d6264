"""Log-likelihoods of what is seen about an end: on the bed, in free motion, by reported speeds.

The fixes are in order from the inside out, so the leading blocks of one Cholesky factor are the
factors of the first k fixes, and cumulative sums give the likelihood for every k. Constants
common to all explanations of a window are left out.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..core.correlation import matern32_correlation
from .position_error import ErrorCovariance

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

LOG_2PI = float(np.log(2 * np.pi))
SPEED_DOUBT = 0.15
"""Doubt about the working speed, a standard deviation as a share of it."""
FREE_M = 3.3
"""How far free motion keeps its velocity: turns of 3-5 m radius."""
PAUSE_S, PAUSE_FIXES = 6.0, 3
"""Repeated fixes so near in time belong to one pause; so many of them prove none."""
FRESH_NATS = 0.5  # on phones that freeze, a fix that does not repeat against standing
FROZEN_NATS = 3.0  # a repeated fix speaks this much against moving


def log_likelihood_of_line(
    whitener: Array, y: Array, columns: Array, prior: float, prior_std: float
) -> Array:
    """Log-likelihood of the first k values for every k and column, without the noise's own part.

    y = c + v·column + noise, c free, v normal about ``prior``; ``whitener`` is the inverse of the
    noise's Cholesky factor. Shapes (n, n), (n,), (n, m) → (n, m). Normal linear model with known
    variance: Gelman et al., *Bayesian Data Analysis*, 3rd ed., 14.2 (from memory).
    """
    one = whitener.sum(axis=1)
    white, target = whitener @ columns, whitener @ y
    precision = 1 / prior_std**2
    a11 = np.cumsum(one**2)[:, None]
    a12 = np.cumsum(one[:, None] * white, axis=0)
    a22 = np.cumsum(white**2, axis=0) + precision
    b1 = np.cumsum(one * target)[:, None]
    b2 = np.cumsum(white * target[:, None], axis=0) + prior * precision
    yy = np.cumsum(target**2)[:, None] + prior**2 * precision
    determinant = np.maximum(a11 * a22 - a12**2, 1e-300)
    left = yy - (a22 * b1**2 - 2 * a12 * b1 * b2 + a11 * b2**2) / determinant
    return np.asarray(-0.5 * left - 0.5 * np.log(determinant / precision))


def log_likelihood_of_free_motion(
    noise: Array, time_s: Array, along_m: Array, across_m: Array, speed_m_s: float
) -> Array:
    """Log-likelihood of the fixes from the k-th outwards as free motion, (n,).

    Each coordinate's velocity is a Gaussian process of 0.7 times the working speed with a Matérn
    covariance of order 3/2 over `FREE_M`, so it changes smoothly; the trapezoidal rule integrates
    it from the outermost fix on.
    """
    since = (time_s - time_s[-1])[::-1]  # outermost first
    apart = np.abs(since[:, None] - since) / (FREE_M / speed_m_s)
    velocity = (0.7 * speed_m_s) ** 2 * matern32_correlation(apart)
    half = np.diff(since) / 2
    sums = np.zeros_like(velocity)
    sums[1:, :-1] += np.tri(len(half)) * half
    sums[1:, 1:] += np.tri(len(half)) * half
    moved = sums @ velocity @ sums.T
    factor = np.linalg.cholesky(noise[::-1, ::-1] + moved)
    whitener = np.linalg.inv(factor)
    one = whitener.sum(axis=1)
    weight = np.cumsum(one**2)
    total = -2 * np.cumsum(np.log(np.diag(factor))) - np.log(weight)
    for series in (along_m, across_m):
        target = whitener @ (series[::-1] - series[-1])
        total -= 0.5 * (np.cumsum(target**2) - np.cumsum(one * target) ** 2 / weight)
    total -= LOG_2PI * np.arange(1, len(time_s) + 1)
    return np.asarray(total[::-1])


def log_likelihood_of_speeds(
    speed_m_s: Array, time_s: Array, shares: Array, working_m_s: float, error: ErrorCovariance
) -> Array:
    """Log-likelihood of the reported speeds, the first k fixes driven as told, for every k.

    ``shares`` (n, shapes, b) are the speeds as shares of the working speed, whose own doubt is
    integrated out; those further out are of free motion, a Gaussian process about 0.8 of the
    working speed. A reported speed is the length of a disturbed velocity: its mean is near
    √(v² + πs²/2) (Rice distribution; exact at rest). Returns the shape of ``shares``.
    """
    n = len(time_s)
    known = np.isfinite(speed_m_s)
    apart = np.abs(time_s[:, None] - time_s)
    noise = error.covariance(apart)
    noise[np.diag_indices(n)] += np.where(known, 1e-4, 1e4)
    s2 = float(error.variance_m2.sum())
    factor = np.linalg.cholesky(noise)
    columns = shares.reshape(n, -1)
    expected = np.sqrt((working_m_s * columns) ** 2 + np.pi / 2 * s2)
    target = np.where(known[:, None], speed_m_s[:, None], expected) - expected
    white = np.linalg.inv(factor) @ np.stack([columns, target])
    precision = 1 / (SPEED_DOUBT * working_m_s) ** 2
    a22 = np.cumsum(white[0] ** 2, axis=0) + precision
    b2 = np.cumsum(white[0] * white[1], axis=0)
    left = np.cumsum(white[1] ** 2, axis=0) - b2**2 / a22
    size = np.cumsum(np.log(np.diag(factor)))[:, None]
    as_told = -0.5 * left - 0.5 * np.log(a22 / precision) - size

    correlation = matern32_correlation(apart[::-1, ::-1] / (FREE_M / working_m_s))
    factor = np.linalg.cholesky(noise[::-1, ::-1] + (0.35 * working_m_s) ** 2 * correlation)
    usual = np.sqrt((0.8 * working_m_s) ** 2 + np.pi / 2 * s2)
    target = np.where(known, speed_m_s, usual)[::-1] - usual
    white = np.linalg.solve(factor, target)
    free = np.cumsum(-0.5 * white**2 - np.log(np.diag(factor)))[::-1]
    return np.asarray((as_told + further_out(free)[:, None]).reshape(shares.shape))


def log_likelihood_of_repeats(frozen: Flags, time_s: Array) -> Array:
    """What repeated fixes say where the first k are moving and the others in free motion, (n,).

    A repeat speaks against moving, on the line more than anywhere. In free motion it may be a
    pause: pauses are rare, so the first few repeats of each say nothing, the others half of what
    they say for standing before the bed.
    """
    credit = np.zeros(len(frozen))
    since, last = 0, np.inf
    for k in np.flatnonzero(frozen).tolist():
        since = since + 1 if abs(time_s[k] - last) < PAUSE_S else 1
        last = time_s[k]
        credit[k] = 0.5 * FROZEN_NATS if since > PAUSE_FIXES else 0.0
    paused = further_out(np.cumsum(credit[::-1])[::-1])
    return np.asarray(paused + np.cumsum(np.where(frozen, 0.5 - 1.0, 0.0)) * FROZEN_NATS)


def log_likelihood_of_repeats_in_standing(frozen: Flags, late_s: Array, *, freezes: bool) -> Array:
    """What repeated and fresh fixes add where those of ``late_s`` ≤ 0 (n, b) stand, (n, b)."""
    fresh = -FRESH_NATS if freezes else 0.0
    while_standing = np.where(frozen, FROZEN_NATS, fresh)[:, None]
    return np.asarray(np.cumsum(np.where(late_s <= 0, while_standing, 0.0), axis=0))


def further_out(from_here: Array) -> Array:
    """Values of the fixes from the k-th outwards, as those beyond the k-th. (n,)"""
    return np.append(from_here, 0.0)[1:]
