"""The influence of each fix on the ground covered, at one set of parameters, by dense algebra.

The model is that of the filter, its covariance functions put into matrices (Rasmussen & Williams
2006, 2.42 and 2.25-2.26, from memory): n³ for one set is cheaper than n more columns in the filter
as long as a pass has some hundreds of fixes. The Doppler bias is taken for nil.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.measured import Measured
from .batch import Batch, batch_of, clock_between_marks_s
from .pass_coordinates import Stretch
from .regressors import (
    DATA,
    GROUND,
    PLACE,
    SPEED,
    across_columns,
    along_columns,
    clock_share,
    eliminated,
    speed_columns,
    with_ground,
)
from .state_space import (
    SHARED_BY_PASSES,
    SPEED_ERROR,
    WEAVE_PROCESS,
    Displacement,
    named,
    position_error_covariance,
    position_variance,
)

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Influence:
    """The influence of every fix of one pass, at one set of parameters.

    ``weight`` (fixes,) is ∂D/∂z: what the ground covered gains per metre of a fix along the axis;
    ``time_s`` (fixes,) are the instants of those fixes; ``sagitta`` is the bow of the line over the
    ground between the marks, m. ``innovations`` (fixes, 2) are the standardised one-step prediction
    errors along and across: white, variance near 1, where the model is right.
    """

    weight: Array
    time_s: Array
    sagitta: Measured
    innovations: Array


@dataclass(frozen=True, slots=True, eq=False)
class StepGrams:
    """What the fixes of one pass say of a step of the position at each of them.

    ``along`` and ``across`` (1 + fixes, 1 + fixes) are the whitened Gram matrices of [data, step at
    each fix], regressors taken out; ``time_s`` (fixes,) the instants. They take the square of the
    fixes in memory, so they are dropped before the next pass is looked at.
    """

    along: Array
    across: Array
    time_s: Array


def influences(
    stretches: Sequence[Stretch], parameters: Array, *, doppler: bool
) -> list[Influence]:
    """The influence of the used fixes of every pass.

    ``parameters`` (parameters,) is one set of them. With ``doppler`` every finite speed is taken
    for the working speed, as in `batch_of`.
    """
    return [influence_and_steps(s, parameters, doppler=doppler)[0] for s in stretches]


def influence_and_steps(
    stretch: Stretch, parameters: Array, *, doppler: bool
) -> tuple[Influence, StepGrams]:
    """The influence of the used fixes of one pass, and what they say of steps; see `influences`."""
    batch, values = batch_of([stretch], doppler=doppler), parameters[:, None]
    n, p = len(batch.time_s), named(values)
    (along, columns), (beside, columns_across) = dense_axes(batch, values)
    travel_var = Displacement(batch, values).travel_covariance()[1]
    steps = np.tril(np.ones((n, n)))
    of_speeds = np.zeros((len(columns) - n, n))
    whitened = _whitened(along, np.concatenate([columns, np.vstack([steps, of_speeds])], axis=1))
    crossed = _whitened(beside, np.concatenate([columns_across, steps], axis=1))
    reach = clock_between_marks_s(batch, p["ramp_s"])[0, 0] / batch.span_s[0]
    gram_across = crossed.T @ crossed
    left, _ = eliminated(
        with_ground(whitened.T @ whitened, reach, travel_var[0, 0]), (PLACE, SPEED)
    )
    left_across, _ = eliminated(gram_across, (PLACE, SPEED, GROUND))
    bent, _ = eliminated(gram_across, (PLACE, SPEED))
    answer = left[GROUND, 4:]
    keep = np.r_[DATA, 4 : 4 + n]
    # y = b·(M/T)² rises b·(ΔM/T)²/4 over the chord between the marks
    bend = max(float(bent[GROUND, GROUND]), 1e-8)
    rise = reach**2 / 4
    time = batch.time_s[:, 0].copy()
    influence = Influence(
        weight=np.asarray(answer - np.append(answer[1:], 0.0)),
        time_s=time,
        innovations=np.stack([_rest(whitened[:n], 3), _rest(crossed, 4)], axis=1),
        sagitta=Measured(float(bent[DATA, GROUND] / bend * rise), float(bend**-0.5 * rise)),
    )
    return influence, StepGrams(left[np.ix_(keep, keep)], left_across[np.ix_(keep, keep)], time)


def dense_axes(batch: Batch, values: Array) -> list[tuple[Array, Array]]:
    """Covariance and columns of what is observed along, then across the only pass of the batch.

    ``values`` (parameters, 1). Matrices (observations, observations) and (observations, 4), along
    with the Doppler speeds after the positions.
    """
    way, p = Displacement(batch, values), named(values)
    share, apart = clock_share(batch, values), batch.time_s - batch.time_s.T
    error = position_error_covariance(values, apart)
    error += position_variance(values) * np.eye(len(apart))
    along = way.covariance() + error
    columns = along_columns(batch, share, way.travel_covariance()[0])[..., 0, 0]
    heard = np.flatnonzero(batch.speed_seen[:, 0])
    if len(heard):
        cross, speeds = way.speed_covariance(heard)
        speeds += SPEED_ERROR.covariance(p, apart[np.ix_(heard, heard)])
        speeds += p["doppler_white_m_s"] ** 2 * np.eye(len(heard))
        along = np.block([[along, cross], [cross.T, speeds]])
        columns = np.concatenate([columns, speed_columns(batch, values)[heard, :4, 0, 0]])
    beside = WEAVE_PROCESS.covariance(p, apart) + error
    return [(along, columns), (beside, across_columns(batch, share)[..., 0, 0])]


def covariance_between_passes(
    stretches: Sequence[Stretch], influence: Sequence[Influence], values: Array, weight: Array
) -> Array:
    """Covariance of the ground covered through lasting errors, 0 on the diagonal. (passes, passes)

    ``values`` (parameters, sets) are the sets of parameters, ``weight`` (sets,) their weights.
    With the influences w of the fixes the errors of passes a and b share
    cos(angle)·Σ_i Σ_j w_ai·w_bj·k(t_j − t_i). Passes follow one another, at most with one fix in
    common, so that the transition from one fix to the other factors into those to the end of the
    first pass, over the gap, and on from the start of the second, one sum for each pass.
    """
    p, passes, sets = named(values), len(influence), values.shape[1]
    begin_s, end_s = (np.array([i.time_s[k] for i in influence]) for k in (0, -1))
    shared = np.zeros((passes, passes))
    for c in SHARED_BY_PASSES:
        # what of each mode at the end of a pass, and at its beginning, goes with its error
        amplitudes = np.array([np.broadcast_to(a, sets) for a in c.amplitudes(p)])
        until, since = np.zeros((2, passes, *amplitudes.shape))
        for k, i in enumerate(influence):
            to_end = c.transition(p, (i.time_s[-1] - i.time_s)[:, None])
            from_start = c.transition(p, (i.time_s - i.time_s[0])[:, None])
            until[k] = amplitudes * [i.weight @ kept for kept in to_end]
            since[k] = [i.weight @ kept for kept in from_start]
        for one in range(passes):  # one at a time: all pairs at once take their number in memory
            later = np.flatnonzero(begin_s >= end_s[one])
            over = c.transition(p, (begin_s[later] - end_s[one])[:, None])
            for a, kept in enumerate(over):
                shared[one, later] += (since[later, a] * kept) @ (until[one, a] * weight)
    direction = np.array([(s.axis.east, s.axis.north) for s in stretches])
    return np.asarray((shared + shared.T) * (direction @ direction.T))


def _whitened(covariance: Array, columns: Array) -> Array:
    """L⁻¹·columns with L the Cholesky factor of the covariance."""
    from scipy.linalg import solve_triangular

    factor = np.linalg.cholesky(covariance)
    return np.asarray(solve_triangular(factor, columns, lower=True, check_finite=False))


def _rest(whitened: Array, fitted: int) -> Array:
    """Whitened data less their regression on the columns after it, up to ``fitted``."""
    data, design = whitened[:, DATA], whitened[:, 1:fitted]
    fit, *_ = np.linalg.lstsq(design, data, rcond=None)
    return np.asarray(data - design @ fit)
