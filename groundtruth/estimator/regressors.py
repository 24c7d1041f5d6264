"""The columns that are filtered: data, regressors and covariance with the ground covered."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from .batch import Batch, clock_at_fixes_s
from .state_space import Displacement, named

Array = NDArray[np.float64]

DATA, PLACE, SPEED, GROUND, BIAS = range(5)
"""Along the pass: data, b0, b1 (counted per span of the pass), covariance with D, Doppler bias.
Across the pass GROUND stands for the coefficient of M²."""
FLAT = 1e-9
"""A prior of 30 km about 0 on every coefficient: where the fixes of a pass are too few for it the
answer is wide then, not none."""


def eliminated(gram: Array, regressors: Sequence[int]) -> tuple[Array, Array]:
    """The Gram matrix (columns, columns, …) with regressors taken out, and log det of their block.

    Gaussian elimination: what is left is the Schur complement.
    """
    out = gram.copy()
    log_det = np.zeros(gram.shape[2:])
    for j in regressors:
        pivot = np.maximum(out[j, j], 0.0) + FLAT
        log_det += np.log(pivot)
        out -= out[:, j, None] * (out[j] / pivot)
    return out, log_det


def with_ground(gram: Array, reach: Array, travel_var: Array) -> Array:
    """The Gram matrix (columns, columns, …) along, D's own terms put into the column GROUND.

    ``reach`` is the motion clock from mark to mark per span, ``travel_var`` Var Δg. With PLACE and
    SPEED eliminated, row GROUND then holds the mean of D, less its variance, and its answer to
    the other columns.
    """
    out = gram.copy()
    out[SPEED, GROUND] -= reach
    out[GROUND, SPEED] -= reach
    out[GROUND, GROUND] -= travel_var
    return out


def clock_share(batch: Batch, values: Array) -> Array:
    """The motion clock at every fix, counted in spans of the pass: (steps, passes, sets)."""
    return clock_at_fixes_s(batch, named(values)["ramp_s"]) / batch.span_s[:, None]


def along_columns(batch: Batch, share: Array, between: Array, columns: int = 4) -> Array:
    """Columns of every position along the passes: (steps, columns, passes, sets).

    ``share`` is `clock_share`, ``between`` (steps, passes, sets) Cov(Δg, g). With 5 ``columns``
    the last, of the Doppler bias, is 0.
    """
    out = np.zeros((len(share), columns, *share.shape[1:]))
    out[:, DATA] = batch.along_m[:, :, None]
    out[:, PLACE] = 1.0
    out[:, SPEED] = share
    out[:, GROUND] = between
    return out


def across_columns(batch: Batch, share: Array) -> Array:
    """Columns of every position across the passes: (steps, 4, passes, sets)."""
    data = np.broadcast_to(batch.across_m[:, :, None], share.shape)
    return np.stack([data, np.ones_like(share), share, share * share], axis=1)


def speed_columns(batch: Batch, values: Array) -> Array:
    """Columns of every Doppler observation: speed, 0, 1/span, Cov(Δg, g'), 1.

    (steps, 5, passes, sets); b1 is counted per span as in the places. The excess of a speed with
    noise s in both axes is the first term of the mean of Rice's distribution (from memory).
    """
    steps, passes = batch.step_s.shape
    white2 = named(values)["doppler_white_m_s"][None, :] ** 2
    # a speed is never negative, so noise makes slow driving read high: v + s²/(2v)
    high = white2 / (2 * np.maximum(batch.nominal_m_s[:, None], 0.2))
    out = np.zeros((steps, 5, passes, values.shape[1]))
    out[:, DATA] = batch.speed_m_s[:, :, None] - high
    out[:, SPEED] = (1 / batch.span_s)[:, None]
    out[:, GROUND] = Displacement(batch, values).travel_speed_covariance()
    out[:, BIAS] = 1.0
    return out
