"""Row units against each other on the same passes: does one turn measurably less?

The ground covered is common to all units of a pass and cancels, so units can be compared far more
sharply than any of them can be measured:

    log N_pu = α_p + g_u + c_pu + e_N,pu

with free α_p, known counting errors e_N and an unknown scatter c between units on one pass (clods,
loose strips), which is integrated out like the spread between passes (see `stats.random_effects`).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log

import numpy as np
from numpy.typing import NDArray

from ..core.measured import Measured
from ..stats.grouped_effects import fit_within_groups
from ..stats.random_effects import Coefficients, NormalMixture

Array = NDArray[np.float64]

FALSE_ALARM_RATE = 0.01
"""Chance that a run whose units all turn alike names a unit at all. Our choice."""

LEAST_SHORTFALL = 0.01
"""A unit is named only where it turned at least this share less: what wheels of one make may
differ by, and less than a stand shows. Our choice; common practice, no source."""

SCATTER_PRIOR = 0.01
"""Scale of the half-t prior of the relative scatter between units on one pass. Our choice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitContrast:
    """One unit's turns over the mean of the sound other units' on the same passes."""

    unit: str
    turns_against_others: Measured | None
    lags: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitContrasts:
    """The contrasts in the order of the unit names, and the relative scatter on one pass."""

    contrasts: tuple[UnitContrast, ...]
    scatter: Measured | None


def unit_contrasts(
    unit_names: tuple[str, ...], passes: Array, units: Array, log_turns: Array, variance: Array
) -> UnitContrasts:
    """Compare the units of a run; name those that lag.

    Parameters
    ----------
    unit_names : names, indexed by ``units``.
    passes, units : (m,) integer labels of each count.
    log_turns : (m,) logarithm of the turns counted.
    variance : (m,) variance of each logarithm from counting.

    Notes
    -----
    Each unit is tested one-sided against the mean of the units not yet named, the worst first,
    with Holm's step-down bounds for all units together (Holm 1979, Scandinavian Journal of
    Statistics 6:65). Units that share no pass, directly or through others, are not compared.
    """
    ratio: dict[int, Measured] = {}
    lagging: set[int] = set()
    scatters: list[tuple[int, Measured]] = []
    for members in _connected(passes, units):
        inside = np.isin(units, members)
        effects = _unit_effects(
            members, passes[inside], units[inside], log_turns[inside], variance[inside]
        )
        scatters.append((int(inside.sum()), effects.spread_moments()))
        lagging |= _step_down(members, effects)
        ratio |= _ratios(members, effects, lagging)
    return UnitContrasts(
        contrasts=tuple(
            UnitContrast(unit=name, turns_against_others=ratio.get(j), lags=j in lagging)
            for j, name in enumerate(unit_names)
        ),
        scatter=max(scatters, key=lambda s: s[0])[1] if scatters else None,
    )


def _connected(passes: Array, units: Array) -> list[list[int]]:
    """Groups of two units or more that can be compared through shared passes."""
    groups: list[set[int]] = []
    for p in np.unique(passes):
        together = {int(u) for u in units[passes == p]}
        for group in [g for g in groups if g & together]:
            groups.remove(group)
            together |= group
        groups.append(together)
    return [sorted(g) for g in groups if len(g) > 1]


def _unit_effects(
    members: list[int], passes: Array, units: Array, log_turns: Array, variance: Array
) -> Coefficients:
    """Unit effects g, the first of ``members`` set to 0, with free pass effects."""
    return fit_within_groups(
        log_turns,
        group=np.unique(passes, return_inverse=True)[1],
        column=np.searchsorted(members, units),
        own_variance=variance,
        prior_scale=SCATTER_PRIOR,
    )


def _against(
    members: list[int], effects: Coefficients, unit: int, others: list[int]
) -> NormalMixture:
    """Log turns of one unit less the mean of the others'."""
    factors = [float(m == unit) - (m in others) / len(others) for m in members]
    return effects.contrast(np.array(factors[1:]))


def _step_down(members: list[int], effects: Coefficients) -> set[int]:
    """The units that turned measurably less than the rest."""
    left = list(members)
    while len(left) > 1:
        # One-sided p-value: the chance of a contrast this low if the unit turned like the others.
        tests = []
        for unit in left:
            contrast = _against(members, effects, unit, [m for m in left if m != unit])
            centred = NormalMixture(
                weight=contrast.weight,
                mean=np.zeros_like(contrast.mean),
                variance=contrast.variance,
            )
            value = contrast.moments().value
            tests.append((centred.cdf(value), value, unit))
        p_value, value, unit = min(tests)
        if p_value > FALSE_ALARM_RATE / len(left) or value > log(1 - LEAST_SHORTFALL):
            break
        left.remove(unit)
    return set(members) - set(left)


def _ratios(members: list[int], effects: Coefficients, lagging: set[int]) -> dict[int, Measured]:
    ratios = {}
    for unit in members:
        others = [m for m in members if m != unit and m not in lagging]
        if not others:  # the only sound unit is compared with the ones that lag
            others = [m for m in members if m != unit]
        moments = _against(members, effects, unit, others).moments()
        ratios[unit] = Measured(exp(moments.value), exp(moments.value) * moments.std)
    return ratios
