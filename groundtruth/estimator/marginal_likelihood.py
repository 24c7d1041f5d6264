"""Marginal likelihood of noise parameters, and moments of the ground covered given each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .batch import Batch, clock_between_marks_s
from .kalman import run_filter
from .priors import DOPPLER_BIAS_M_S
from .regressors import BIAS, DATA, GROUND, PLACE, SPEED, eliminated, with_ground
from .state_space import named

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
    filtered = run_filter(batch, values, doppler=doppler)
    passes = batch.step_s.shape[1]
    reach = clock_between_marks_s(batch, named(values)["ramp_s"]) / batch.span_s[:, None]
    gram = with_ground(filtered.gram[:, :, :passes], reach, filtered.travel_var)
    left, log_det = eliminated(gram, (PLACE, SPEED))
    log_like = -0.5 * (log_det + left[DATA, DATA]).sum(axis=0)
    if batch.across_used:
        across, log_det = eliminated(filtered.gram[:, :, passes:], (PLACE, SPEED, GROUND))
        log_like -= 0.5 * (log_det + across[DATA, DATA]).sum(axis=0)
    log_like -= 0.5 * filtered.log_scale.sum(axis=0)
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
