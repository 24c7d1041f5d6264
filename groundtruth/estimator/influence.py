"""How a pass answers to each of its fixes, at one set of parameters, by dense algebra.

The same model as the filter's, written as covariance matrices (Rasmussen & Williams 2006, 2.42 and
2.25-2.26, from memory): n³ for one set is cheaper than n more columns in the filter as long as a
pass has some hundreds of fixes. The Doppler bias is taken for nil.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.measured import Measured
from .batch import NEAR_STOP_SHARE, Timeline, covered, timeline
from .pass_coordinates import Stretch
from .priors import DOPPLER_SLOW_S, WEAVE_M, WEAVE_S
from .regressors import (
    DATA,
    GROUND,
    PLACE,
    SPEED,
    eliminated,
    position_columns,
    speed_columns,
    with_ground,
)
from .state_space import (
    INDEX,
    NEW,
    OLD,
    WHITE,
    Model,
    first_white,
    travel_covariance,
    wander_growth,
    wander_slope,
)

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Probe:
    """How one pass answers to every fix, at one set of parameters.

    ``weight`` (fixes,) is ∂D/∂z: what the ground covered gains per metre of a fix along the axis;
    ``time_s`` (fixes,) are the instants of those fixes; ``grams`` the whitened Gram matrices along
    and across of [data, step at each fix], regressors taken out; ``sagitta`` is the bow of the
    line over the ground between the marks, m. ``innovations`` (fixes, 2) are the standardised
    one-step prediction errors along and across: white, variance near 1, where the model is right.
    """

    weight: Array
    time_s: Array
    grams: tuple[Array, Array]
    sagitta: Measured
    innovations: Array


def probe(stretches: Sequence[Stretch], parameters: Array, *, doppler: bool) -> list[Probe]:
    """Send a step at every used fix of every pass through the model.

    ``parameters`` (parameters,) is one set of them. With ``doppler`` every finite speed is taken
    for the working speed, as in `timeline`.
    """
    return [_probe(s, parameters[:, None], doppler=doppler) for s in stretches]


def _probe(stretch: Stretch, values: Array, *, doppler: bool) -> Probe:
    line = timeline([stretch], doppler=doppler)
    model = Model(line, values)
    n = len(line.time_s)
    between, travel_var = travel_covariance(line, values)
    columns = position_columns(model, line, values, between)[..., 0]
    index = model.index[:, 0]
    kept = model.kept[index, 0]
    mix = np.diag(model.rows[NEW][index, 0]) + np.diag(model.rows[OLD][index[1:], 0], -1)
    mix[0, 0] = 1.0
    white = model.rows[WHITE][index, 0]
    white[0] = first_white(line, values)[0, 0]
    steps = np.tril(np.broadcast_to((1 - kept)[:, None], (n, n)), -1) + np.eye(n)
    wander = _wander(line, values)
    heard = np.flatnonzero(line.speed_seen[:, 0])
    along = _along(line, values, mix, wander, heard)
    along[np.diag_indices(n)] += white
    beside = mix @ (wander + WEAVE_M**2 * np.exp(-_apart(line.time_s) / WEAVE_S)) @ mix.T
    beside[np.diag_indices(n)] += white
    rows = np.concatenate([columns[..., 0], steps], axis=1)
    if len(heard):
        of_speeds = np.zeros((len(heard), 4 + n))
        of_speeds[:, :4] = speed_columns(line, values)[heard, :4, 0, 0]
        rows = np.concatenate([rows, of_speeds])
    whitened = _whitened(along, rows)
    crossed = _whitened(beside, np.concatenate([columns[..., 1], steps], axis=1))
    reach = covered(line, values[INDEX["ramp_s"]])[0, 0] / line.span_s[0]
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
    return Probe(
        weight=np.asarray(answer - np.append(answer[1:], 0.0)),
        time_s=line.time_s[:, 0],
        innovations=np.stack([_rest(whitened[:n], 3), _rest(crossed, 4)], axis=1),
        grams=(left[np.ix_(keep, keep)], left_across[np.ix_(keep, keep)]),
        sagitta=Measured(float(bent[DATA, GROUND] / bend * rise), float(bend**-0.5 * rise)),
    )


def _apart(time_s: Array) -> Array:
    return np.asarray(np.abs(time_s - time_s.T))


def _wander(line: Timeline, values: Array) -> Array:
    """Covariance of the slow and the medium wander of one axis. (n, n)"""
    apart = _apart(line.time_s)
    total = np.zeros_like(apart)
    for size, lasts in (("slow_m", "slow_s"), ("medium_m", "medium_s")):
        total += values[INDEX[size]] ** 2 * np.exp(-apart / values[INDEX[lasts]])
    return total


def _along(
    line: Timeline, values: Array, mix: Array, wander: Array, heard: NDArray[np.int64]
) -> Array:
    """Covariance of the places (as y takes them) and, after them, of the speeds heard."""
    drive_s = values[INDEX["drive_s"]]
    nominal = line.nominal_m_s[0]
    scale = (values[INDEX["drive"]] * nominal) ** 2
    clock = line.clock_s - line.clock_s[0]
    unsure = line.unsure_s - line.unsure_s[0]
    grown = wander_growth(clock, drive_s)
    driven = scale * (grown + grown.T - wander_growth(clock - clock.T, drive_s)) / 2
    driven += (NEAR_STOP_SHARE * nominal) ** 2 * np.minimum(unsure, unsure.T)
    places = mix @ (driven + wander) @ mix.T
    if not len(heard):
        return np.asarray(places)
    when, at = line.time_s[heard], clock[heard]
    # g(t) with g'(s): half the derivative of γ(t) + γ(s) − γ(t − s) by s
    cross = scale * (wander_slope(at.T, drive_s) + wander_slope(clock - at.T, drive_s))
    speeds = scale * np.exp(-np.abs(at - at.T) / drive_s)
    speeds += values[INDEX["doppler_slow_m_s"]] ** 2 * np.exp(-_apart(when) / DOPPLER_SLOW_S)
    speeds += values[INDEX["doppler_white_m_s"]] ** 2 * np.eye(len(heard))
    return np.asarray(np.block([[places, mix @ cross], [(mix @ cross).T, speeds]]))


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
