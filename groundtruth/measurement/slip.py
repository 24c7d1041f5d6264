"""Ground per gear turn and slip: for each count, for each row unit, pooled over the run.

In logarithms a count follows

    log(D_p / N_pu) = log L + a_p + b_u + c_pu + e_D,p + e_N,pu

D_p ground covered on pass p, N_pu gear turns counted on unit u, L the figure to use from now on,
a_p the spread between passes (soil), b_u the unit's own difference, c_pu what is left between
units on one pass. The error of the distance e_D,p is common to all units of a pass and correlated
between passes; the counting errors e_N,pu are independent.

Slip is the share of the ground covered during which the wheel did not turn, s = 1 − N·c/D with
the zero-slip travel c per gear turn: positive when the wheel drags. docs/formulas.md sets the
other convention beside it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import exp, log

import numpy as np
from numpy.typing import NDArray

from ..core.assumptions import SPREAD_PRIOR
from ..core.errors import MeasureError
from ..core.measured import Measured
from ..core.result import Share, UnitFigure
from ..core.uncertainty import UncertaintySource
from ..stats.grouped_effects import GroupedEffects, Labels, fit_grouped_effects
from ..stats.random_effects import NormalMixture
from .row_units import UnitContrast, unit_contrasts

Array = NDArray[np.float64]


_ZERO = np.zeros(())
MOST_UNITS = 200
"""The time to compare units goes by the cube of their number; no seeder has so many."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PassCount:
    """Gear turns counted on one unit over one pass; ``pass_index`` counts the passes from 0."""

    pass_index: int
    unit: str
    gear_turns: Measured


@dataclass(frozen=True, slots=True, kw_only=True)
class CountFigure:
    """Ground per gear turn (m) and slip of one unit over one pass, from that pass alone."""

    ground_per_turn: Measured
    slip: Measured | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Pooled:
    """What all counts of a run say together.

    ``ground_per_turn`` (m) is the mean over passes and over the units that do not lag: the figure
    to use on passes like these. ``spread`` (m) is the standard deviation of the true figure from
    pass to pass, with its own uncertainty, ``scatter`` (m) that between units on one pass, None
    where units cannot be compared. ``counts`` follow the order of the counts given, ``log_ground``
    is the distribution of the logarithm of ``ground_per_turn``.
    """

    ground_per_turn: Measured
    ground_per_turn_95: tuple[float, float]
    slip: Measured | None
    slip_95: tuple[float, float] | None
    spread: Measured
    scatter: Measured | None
    counts: tuple[CountFigure, ...]
    units: tuple[UnitFigure, ...]
    budget: tuple[Share, ...]
    log_ground: NormalMixture


def slip_share(ground_per_turn: Measured, zero_slip_travel: Measured) -> Measured:
    """Slip s = 1 − c/L from ground per turn L and zero-slip travel c, both m per turn. [-]

    First-order propagation of independent errors [JCGM 100:2008, 5.1.2].
    """
    rolled = zero_slip_travel.per(ground_per_turn)
    return Measured(1 - rolled.value, rolled.std)


def _relative_covariances(
    distance_m: Array, sources: Mapping[UncertaintySource, Array], group: Labels, turns: Array
) -> dict[UncertaintySource, Array]:
    """For each source the (k, k) covariance of log D between the passes, all of them counted.

    Relative to the distance that the turns predict: divided by the measured distances, passes that
    happened to be measured short would get the smaller error and the greater weight, and the mean
    would come out too high.
    """
    counts = np.bincount(group)
    on_pass = np.bincount(group, turns) / counts
    predicted = on_pass * ((counts @ distance_m) / (counts @ on_pass))
    return {
        source: covariance / np.outer(predicted, predicted)
        for source, covariance in sources.items()
    }


def _checked(
    distance_m: Array, sources: Mapping[UncertaintySource, Array], counts: Sequence[PassCount]
) -> None:
    """Refuse what cannot be pooled."""
    k = len(distance_m)
    if not counts:
        raise MeasureError("no turn count belongs to a pass; nothing to measure from")
    for source, covariance in sources.items():
        if covariance.shape != (k, k):
            raise ValueError(f"covariance of {source}: shape {covariance.shape}, not {(k, k)}")
    units = {count.unit for count in counts}
    if len(units) > MOST_UNITS:
        raise MeasureError(f"{len(units)} row units; up to {MOST_UNITS} are compared")
    seen = set()
    for count in counts:
        number = count.pass_index + 1
        if not 0 <= count.pass_index < k:
            raise ValueError(f"a count names pass {number} of {k}")
        if not count.gear_turns.value > 0:
            raise MeasureError(f"pass {number}, unit {count.unit}: turns must be above 0")
        if not distance_m[count.pass_index] > 0:
            raise MeasureError(f"pass {number}: the ground covered must be above 0")
        if (count.pass_index, count.unit) in seen:
            raise MeasureError(f"pass {number}, unit {count.unit} is counted twice")
        seen.add((count.pass_index, count.unit))


def pool_run(
    distance_m: Array,
    covariance_m2: Mapping[UncertaintySource, Array],
    counts: Sequence[PassCount],
    zero_slip_travel: Measured | None = None,
    *,
    spread_prior: float = SPREAD_PRIOR,
) -> Pooled:
    """Pool all counts of a run.

    Parameters
    ----------
    distance_m : (k,) ground covered on each pass, m.
    covariance_m2 : for each source of error the (k, k) covariance of the distances, m²;
        their sum is the covariance of the distances.
    counts : at most one per pass and unit, in any order; passes without a count are left out.
    zero_slip_travel : ground per gear turn of the just rolling wheel, m; needed for slip only. Its
        uncertainty enters slip and not ground per turn.
    spread_prior : scale of the prior of the relative spread between passes.

    Raises
    ------
    MeasureError : no count, a count or distance that is not above 0, or a count given twice.
    ValueError : shapes or pass indices do not fit.
    """
    distance_m = np.asarray(distance_m, dtype=float)
    sources = {s: np.asarray(c, dtype=float) for s, c in covariance_m2.items()}
    _checked(distance_m, sources, counts)
    index = np.array([c.pass_index for c in counts])
    turns = np.array([c.gear_turns.value for c in counts])
    counting = np.array([c.gear_turns.relative**2 for c in counts])
    unit_names = tuple(dict.fromkeys(c.unit for c in counts))
    unit = np.array([unit_names.index(c.unit) for c in counts])

    between = unit_contrasts(unit_names, index, unit, np.log(turns), counting)
    counted, group = np.unique(index, return_inverse=True)
    shared = _relative_covariances(
        distance_m[counted],
        {source: covariance[np.ix_(counted, counted)] for source, covariance in sources.items()},
        group,
        turns,
    )
    of_pass = sum(shared.values(), start=np.zeros((len(counted), len(counted))))
    # The mean of log(D + e) is log D − u²/2D²; put back, so that noisy passes bias nothing.
    figures = np.log(distance_m[index] / turns) + np.diag(of_pass)[group] / 2
    own = {UncertaintySource.COUNTING: counting}
    if between.scatter is not None:
        mean_square = between.scatter.value**2 + between.scatter.std**2
        own[UncertaintySource.ROW_UNITS] = np.full(len(counts), mean_square)

    effects = fit_grouped_effects(
        figures,
        group=group,
        column=unit,
        own_variance=sum(own.values(), start=_ZERO),
        between=of_pass,
        prior_scale=spread_prior,
    )
    sound = np.array([not s.lags for s in between.contrasts], dtype=float)
    mean_of_sound = sound / sound.sum()
    overall = effects.contrast(mean_of_sound)
    ground, ground_95 = _exp(overall)
    distance_std_m = np.sqrt(np.diag(sum(sources.values(), start=_ZERO)))
    c = zero_slip_travel
    return Pooled(
        ground_per_turn=ground,
        ground_per_turn_95=ground_95,
        slip=slip_share(ground, c) if c else None,
        slip_95=_slip_interval(overall, c) if c else None,
        spread=effects.spread_moments().scaled(ground.value),
        scatter=between.scatter and between.scatter.scaled(ground.value),
        counts=tuple(_count_figure(count, distance_m, distance_std_m, c) for count in counts),
        units=tuple(
            _unit_figure(s, int((unit == j).sum()), effects.contrast(np.eye(len(sound))[j]), c)
            for j, s in enumerate(between.contrasts)
        ),
        budget=_budget(effects, mean_of_sound, shared, own, group, overall, ground.value),
        log_ground=overall,
    )


def _exp(mixture: NormalMixture) -> tuple[Measured, tuple[float, float]]:
    """Figure and 95 % interval from the distribution of its logarithm."""
    moments = mixture.moments()
    lower, upper = mixture.interval()
    value = exp(moments.value)
    return Measured(value, value * moments.std), (exp(lower), exp(upper))


def _slip_interval(log_ground: NormalMixture, zero_slip_travel: Measured) -> tuple[float, float]:
    low, high = log_ground.widened(zero_slip_travel.relative**2).interval()
    log_c = log(zero_slip_travel.value)
    return 1 - exp(log_c - low), 1 - exp(log_c - high)


def _count_figure(
    count: PassCount, distance_m: Array, distance_std_m: Array, zero_slip_travel: Measured | None
) -> CountFigure:
    p = count.pass_index
    distance = Measured(float(distance_m[p]), float(distance_std_m[p]))
    ground = distance.per(count.gear_turns)
    return CountFigure(
        ground_per_turn=ground,
        slip=slip_share(ground, zero_slip_travel) if zero_slip_travel else None,
    )


def _unit_figure(
    contrast: UnitContrast,
    passes: int,
    log_ground: NormalMixture,
    zero_slip_travel: Measured | None,
) -> UnitFigure:
    ground, _ = _exp(log_ground)
    return UnitFigure(
        unit=contrast.unit,
        passes=passes,
        ground_per_turn=ground,
        slip=slip_share(ground, zero_slip_travel) if zero_slip_travel else None,
        turns_against_others=contrast.turns_against_others,
        lags=contrast.lags,
    )


def _budget(
    effects: GroupedEffects,
    factors: Array,
    shared: Mapping[UncertaintySource, Array],
    own: Mapping[UncertaintySource, Array],
    group: Labels,
    overall: NormalMixture,
    ground_m: float,
) -> tuple[Share, ...]:
    """Contributions (c_i·u_i)² of each source to u² [JCGM 100:2008, 5.1.3], largest first.

    The sensitivities are those of the pooling, averaged over the spread's posterior; what the
    unknown spread adds by moving the weights is counted with the spread between passes.
    ``shared`` are the covariances (k, k) between passes, ``own`` the variances (m,) of the counts.
    """
    rows = effects.sensitivities(factors)  # (g, m)
    by_pass = np.array([np.bincount(group, row) for row in rows])  # (g, k)
    weight = effects.weight
    variances = {
        source: float(weight @ ((by_pass @ covariance) * by_pass).sum(axis=1))
        for source, covariance in shared.items()
    }
    variances |= {source: float(weight @ (rows**2 @ own[source])) for source in own}
    between = effects.spread**2 * (by_pass**2).sum(axis=1)
    moving = (overall.mean - weight @ overall.mean) ** 2
    variances[UncertaintySource.PASSES] = float(weight @ (between + moving))
    total = sum(variances.values())
    shares = [
        Share(source=source, std_m=ground_m * v**0.5, share=v / total)
        for source, v in variances.items()
        if v > 0
    ]
    return tuple(sorted(shares, key=lambda s: -s.share))
