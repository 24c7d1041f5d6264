"""What a measurement will have learnt of the phone and the driving once its passes are driven.

A measurement does not know its phone: it starts from what real phones do and learns from its own
passes. Near its mode the posterior of the log parameters is normal (Laplace), and averaged over the
data the curvature of the log likelihood is the Fisher information J of one pass, so that n passes
of a phone with parameters x make of the prior N(m, S)

    N(m + C·n·η·J·(x − m), C),   C = (S⁻¹ + n·η·J)⁻¹

with η the share of the log likelihood that is believed; the centre scatters with η·C·n·η·J·C. For
normal data with covariance K and mean Xb + μ, b free, J_ab = tr(P·K_a·P·K_b)/2 + μ_aᵀ·P·μ_b, P =
K⁻¹ − K⁻¹X(XᵀK⁻¹X)⁻¹XᵀK⁻¹ and indices standing for derivatives (K. V. Mardia & R. J. Marshall,
Biometrika 71, 1984, 135-146, from memory).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ..estimator import Stretch
from ..estimator.batch import batch_of
from ..estimator.influence import dense_axes
from ..estimator.map_estimate import TEMPER
from ..estimator.priors import PARAMETERS, Prior
from ..estimator.regressors import GROUND, PLACE, SPEED
from .phone_kinds import MEMBERS, NoiseEnsemble

Array = NDArray[np.float64]

STEP = 0.02
"""Step of the differences in the log parameters."""


def fisher_information(
    stretch: Stretch, parameters: Array, *, across: bool, doppler: bool
) -> Array:
    """Fisher information of one pass about the log parameters: (parameters, parameters).

    ``parameters`` (parameters,) is the set at which it is taken.
    """
    levels = [_axes(stretch, parameters, across=across, doppler=doppler)]
    for k in range(len(PARAMETERS)):
        moved = parameters.copy()
        moved[k] *= np.exp(STEP)
        levels.append(_axes(stretch, moved, across=across, doppler=doppler))
    total = np.zeros((len(PARAMETERS),) * 2)
    for axis, (covariance, free) in enumerate(levels[0]):
        whole = np.linalg.inv(covariance)
        inverse = whole - whole @ free @ np.linalg.pinv(free.T @ whole @ free) @ free.T @ whole
        slopes = [(level[axis][0] - covariance) / STEP for level in levels[1:]]
        # the ramps bend the clock by which the distance of the pass is driven
        speed = float(stretch.along_m[-1] - stretch.along_m[0]) if axis == 0 else 0.0
        means = [speed * (level[axis][1] - free)[:, 1] / STEP for level in levels[1:]]
        seen = [inverse @ slope for slope in slopes]
        total += np.array([[(a * b.T).sum() / 2 for b in seen] for a in seen])
        total += np.array([[a @ inverse @ b for b in means] for a in means])
    return total


def learnt(noise: NoiseEnsemble, information: Array, prior: Prior, passes: int) -> NoiseEnsemble:
    """The ensemble as a measurement of so many passes will believe it to be.

    ``information`` is that of one pass. Each member is one phone, and a draw from the posterior
    that it would leave; of an ensemble of few phones, several. Deterministic.
    """
    times = -(-MEMBERS // len(noise.weight))
    used = passes * TEMPER * information
    precision = np.diag(prior.log_std**-2.0)
    covariance = np.linalg.inv(precision + used)
    away = np.tile(np.log(noise.values), times) - prior.log_median[:, None]
    centre = prior.log_median[:, None] + covariance @ used @ away
    # the centre itself comes out otherwise from day to day, by the scatter of the score
    spread = covariance + TEMPER * covariance @ used @ covariance
    drawn = np.random.default_rng(21).standard_normal(away.shape)
    values = np.exp(centre + np.linalg.cholesky(spread) @ drawn)
    return replace(noise, values=values, weight=np.tile(noise.weight, times) / times)


def _axes(
    stretch: Stretch, parameters: Array, *, across: bool, doppler: bool
) -> list[tuple[Array, Array]]:
    """Covariance of the data and the free regressors, along and where used across the pass."""
    along, beside = dense_axes(batch_of([stretch], doppler=doppler), parameters[:, None])
    axes = [(along[0], along[1][:, [PLACE, SPEED]])]
    return [*axes, (beside[0], beside[1][:, [PLACE, SPEED, GROUND]])] if across else axes
