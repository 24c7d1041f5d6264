"""The ground covered on the passes of a day, with the covariance of their errors."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.errors import MeasureError
from ..core.findings import ReceiverEvidence
from ..core.measured import Measured
from ..core.run import ReceiverKind
from .doppler import working_speeds
from .ground_factors import WEAVE, bow_factor, measured_sinuosity
from .importance_sampling import Posterior, sample_posterior
from .influence import Influence, covariance_between_passes, influence_and_steps
from .map_estimate import find_map_estimate
from .outlier_blocks import THRESHOLD, set_aside, shifted_fixes
from .pass_coordinates import Stretch
from .priors import LATE_STD_S, PHONE, SURVEY, Prior, parameters_used, with_timed_turns
from .receiver import receiver_evidence

Array = NDArray[np.float64]

MOST_CLEANINGS = 3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DayTravel:
    """Ground covered along the axis of each pass, in the plane.

    ``distance_m`` (passes,), ``covariance_m2`` (passes, passes) of the error from the positions,
    ``noise`` the posterior geometric mean of each parameter by name, those of the Doppler speed
    only where ``doppler`` says that speeds were used, ``set_aside`` (passes,) the number of fixes
    left out as jumps, ``receiver`` which prior was used and ``evidence`` what tells a centimetre
    receiver, None of a phone; ``effective_sets`` of the integration.
    ``sinuosity`` is the driven line over its axis for each pass: bow and weave.
    """

    distance_m: Array
    covariance_m2: Array
    noise: dict[str, float]
    set_aside: tuple[int, ...]
    sinuosity: tuple[Measured, ...]
    receiver: str
    evidence: ReceiverEvidence | None
    doppler: bool
    effective_sets: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DayFit:
    """Posterior of a day's noise, with its ``stretches`` and their ``influences`` without jumps.

    ``set_aside`` (passes,) is the number of fixes left out as jumps, ``evidence`` what tells a
    centimetre receiver, None of a phone.
    """

    posterior: Posterior
    stretches: list[Stretch]
    influences: list[Influence]
    prior: Prior
    doppler: bool
    set_aside: tuple[int, ...]
    evidence: ReceiverEvidence | None


def fit_day(
    stretches: Sequence[Stretch],
    *,
    use_doppler: bool = True,
    receiver: ReceiverKind | None = None,
) -> DayFit:
    """Posterior of the noise parameters of one day, fixes that jumped aside left out."""
    doppler = use_doppler and _speed_share(stretches) > 0.5
    stretches = working_speeds(stretches, doppler=doppler)
    evidence = receiver_evidence(stretches, receiver)
    prior = PHONE if evidence is None else SURVEY
    if all(s.wheel is not None for s in stretches):
        prior = with_timed_turns(prior)
    # a line driven by hand is no longer straight at the scale of centimetres
    threshold = THRESHOLD if prior.across else 10 * THRESHOLD
    removed = np.zeros(len(stretches), dtype=int)
    mode = find_map_estimate(stretches, prior, doppler=doppler)
    for cleaning in range(MOST_CLEANINGS + 1):
        influences, shifted = [], []
        for s in stretches:
            influence, steps = influence_and_steps(s, mode.values, doppler=doppler)
            influences.append(influence)
            shifted.append(shifted_fixes(steps, threshold))
        found = np.array([int(s.sum()) for s in shifted])
        if cleaning == MOST_CLEANINGS or not found.any():
            break
        removed += found
        stretches = [set_aside(s, which) for s, which in zip(stretches, shifted, strict=True)]
        mode = find_map_estimate(stretches, prior, doppler=doppler, start=mode)
    posterior = sample_posterior(stretches, prior, doppler=doppler, mode=mode)
    return DayFit(
        posterior=posterior,
        stretches=stretches,
        influences=influences,
        prior=prior,
        doppler=doppler,
        set_aside=tuple(int(n) for n in removed),
        evidence=evidence,
    )


def ground_covered(
    stretches: Sequence[Stretch],
    *,
    use_doppler: bool = True,
    receiver: ReceiverKind | None = None,
) -> DayTravel:
    """Ground between the marks of each pass of one day (same phone), and the joint covariance.

    Doppler speeds are used where more than half of the fixes carry one, unless ``use_doppler``
    is False. ``receiver`` says what recorded the track, where that is known. The mean and variance
    mix the parameter sets: u² = mean of variances + variance of means (law of total variance).
    Error that lasts into the next passes, the shared parameters, the shared Doppler bias and the
    doubt whether the phone comes late make the covariance.

    Raises
    ------
    MeasureError : no stretch was given.
    """
    if not stretches:
        raise MeasureError("no pass to measure")
    noise = fit_day(stretches, use_doppler=use_doppler, receiver=receiver)
    posterior, prior, doppler = noise.posterior, noise.prior, noise.doppler
    mean, covariance = _mixed(posterior)
    covariance += covariance_between_passes(
        noise.stretches, noise.influences, posterior.values, posterior.weight
    )
    # a phone that comes late shows the wrong ground where the speed differs between the marks
    late_m = LATE_STD_S * np.array([s.gained_speed_m_s() for s in noise.stretches])
    covariance += np.outer(late_m, late_m)
    return DayTravel(
        distance_m=mean,
        covariance_m2=covariance,
        noise=dict(
            zip(parameters_used(doppler=doppler), posterior.mean_values().tolist(), strict=False)
        ),
        set_aside=noise.set_aside,
        sinuosity=tuple(
            _sinuosity(s, i, length, prior)
            for s, i, length in zip(noise.stretches, noise.influences, mean.tolist(), strict=True)
        ),
        receiver=prior.name,
        evidence=noise.evidence,
        doppler=doppler,
        effective_sets=posterior.effective,
    )


def _sinuosity(stretch: Stretch, influence: Influence, length_m: float, prior: Prior) -> Measured:
    """Bow and weave of a pass: seen directly by a centimetre receiver, else bow seen and weave
    as usual."""
    if prior.name == SURVEY.name:
        between = (stretch.time_s >= stretch.start_s) & (stretch.time_s <= stretch.end_s)
        kept = between & stretch.used
        return measured_sinuosity(stretch.along_m[kept], stretch.across_m[kept])
    return bow_factor(influence.sagitta, length_m).times(WEAVE)


def _speed_share(stretches: Sequence[Stretch]) -> float:
    speeds = np.concatenate([s.speed_m_s for s in stretches])
    return float(np.isfinite(speeds).mean()) if len(speeds) else 0.0


def _mixed(posterior: Posterior) -> tuple[Array, Array]:
    weight, m = posterior.weight, posterior.moments
    mean = m.mean @ weight
    away = m.mean - mean[:, None]
    covariance = (away * weight) @ away.T
    covariance += (m.per_bias * (weight * m.bias_var)) @ m.per_bias.T
    covariance[np.diag_indices_from(covariance)] += m.var @ weight
    return mean, covariance
