"""Marginal likelihood of noise parameters, and moments of the ground covered given each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .batch import Batch, clock_between_marks_s
from .kalman import Observed, run_filter
from .priors import DOPPLER_BIAS_M_S
from .regressors import (
    BIAS,
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
from .state_space import Displacement, across_states, along_states, named, position_variance

Array = NDArray[np.float64]

BIAS_PRECISION = 1 / DOPPLER_BIAS_M_S**2


@dataclass(frozen=True, slots=True, eq=False)
class ConditionalMoments:
    """Moments of the ground covered D given each parameter set, and its marginal likelihood.

    Shapes (passes, sets): ``mean`` in m, ``var`` in m², ``per_bias`` = ∂D/∂β in s, by the Doppler
    bias β of the day. Shapes (sets,): ``log_likelihood``, up to a constant, and ``bias_var`` in
    m²/s², 0 without Doppler. The estimate of β is in ``mean``; given a set, the covariance of D_p
    and D_q is [p = q]·``var`` + ``bias_var``·∂D_p/∂β·∂D_q/∂β.
    """

    log_likelihood: Array
    mean: Array
    var: Array
    per_bias: Array
    bias_var: Array


@dataclass(frozen=True, slots=True, eq=False)
class _Part:
    """What some of the passes say, before the bias of the day joins them; shapes (…, sets)."""

    log_likelihood: Array
    base: Array
    var: Array
    per_bias: Array
    bias_information: Array
    bias_pull: Array


def evaluate(batches: Sequence[Batch], values: Array, *, doppler: bool) -> ConditionalMoments:
    """Likelihood of all passes, and moments of the ground covered, for each set of parameters.

    ``values`` (parameters, sets) as `Prior.values` gives them; the passes of ``batches`` in order.
    """
    parts = [_evaluate_part(batch, values, doppler=doppler) for batch in batches]
    log_like = np.sum([p.log_likelihood for p in parts], axis=0)
    base = np.concatenate([p.base for p in parts])
    var = np.maximum(np.concatenate([p.var for p in parts]), 0.0)
    per_bias = np.concatenate([p.per_bias for p in parts])
    if not doppler:
        return ConditionalMoments(log_like, base, var, per_bias, np.zeros(values.shape[1]))
    precision = np.sum([p.bias_information for p in parts], axis=0) + BIAS_PRECISION
    pull = np.sum([p.bias_pull for p in parts], axis=0)
    bias = pull / precision
    log_like += 0.5 * (pull * bias - np.log(precision / BIAS_PRECISION))
    return ConditionalMoments(log_like, base + per_bias * bias, var, per_bias, 1 / precision)


def _evaluate_part(batch: Batch, values: Array, *, doppler: bool) -> _Part:
    p, share = named(values), clock_share(batch, values)
    between, travel_var = Displacement(batch, values).travel_covariance()
    columns = along_columns(batch, share, between, 5 if doppler else 4)
    white = position_variance(values)
    speeds = None
    if doppler:
        speeds = Observed(
            speed_columns(batch, values), batch.speed_seen, p["doppler_white_m_s"] ** 2
        )
    filtered = run_filter(
        along_states(batch, values, doppler=doppler),
        Observed(columns, batch.seen, white),
        speeds,
        -1 / p["drive_s"],
    )
    reach = clock_between_marks_s(batch, p["ramp_s"]) / batch.span_s[:, None]
    gram = with_ground(filtered.gram, reach, travel_var)
    left, log_det = eliminated(gram, (PLACE, SPEED))
    log_like = -0.5 * (filtered.log_scale + log_det + left[DATA, DATA]).sum(axis=0)
    if batch.across_used:
        beside = run_filter(
            across_states(batch, values),
            Observed(across_columns(batch, share), batch.seen, white),
        )
        across, log_det = eliminated(beside.gram, (PLACE, SPEED, GROUND))
        log_like -= 0.5 * (beside.log_scale + log_det + across[DATA, DATA]).sum(axis=0)
    base, var = left[DATA, GROUND], -left[GROUND, GROUND]
    if not doppler:
        nothing = np.zeros(values.shape[1])
        return _Part(log_like, base, var, np.zeros_like(base), nothing, nothing)
    return _Part(
        log_like,
        base,
        var,
        -left[BIAS, GROUND],
        left[BIAS, BIAS].sum(axis=0),
        left[BIAS, DATA].sum(axis=0),
    )
