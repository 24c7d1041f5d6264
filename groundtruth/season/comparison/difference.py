"""Do two groups of runs differ in ground per turn, by how much, and how sure is that?

With y the logarithm of a run's ground per turn, u its own standard uncertainty (measuring, and the
spread between its passes) and t the spread between days that nobody explained,

    y_i = b_group(i) + covariates of the day + r_i + e_i,   r ~ N(0, t²),  e ~ N(0, u_i²)

fitted with t integrated out (see `stats.random_effects`), so that two runs on either side give the
wide interval they deserve. Soil and recorded changes of the seeder enter as covariates wherever the
runs can tell them from the groups.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import exp, inf, log

import numpy as np
from numpy.typing import NDArray

from ...core.errors import MeasureError
from ...core.measured import Measured
from ...stats.intervals import coverage_factor
from ...stats.random_effects import fit_random_effects
from ...stats.two_means import WelchTest, smallest_change, welch_test
from .types import Covariate, RunFigure, UnitRun

Array = NDArray[np.float64]

DAY_SPREAD = 0.02
"""Scale of the half-t prior of the relative spread between days of one soil and one state of the
seeder. Our choice: slip changes by some tenths of a per cent to two per cent from day to day, and
with this the interval of 95 % is one (docs/season.md); 0.01 was too narrow for restless days."""
UNIT_SPREAD = 0.005
UNIT_ALARM = 0.01
"""Chance that a season whose units all turn alike names a unit. Our choice."""
LEAST_SHORTFALL = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """One side of a comparison; ``ground_per_turn`` (m) is its mean over runs."""

    label: str
    runs: int
    passes: int
    ground_per_turn: Measured


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """The second group against the first, relative (0.03: 3 % more ground for a turn).

    ``smallest`` is the change that these runs would have shown with a chance of 80 %;
    ``welch`` the plain test on the runs' figures, None with fewer than two on a side or no spread;
    ``allowed_for`` are the covariates that were taken out.
    """

    first: Group
    second: Group
    relative: Measured
    relative_95: tuple[float, float]
    smallest: float
    welch: WelchTest | None
    allowed_for: tuple[Covariate, ...]

    @property
    def shown(self) -> bool:
        """Whether the interval leaves 0 out."""
        return not self.relative_95[0] <= 0 <= self.relative_95[1]


def difference(
    runs: Sequence[RunFigure],
    group_of: Callable[[RunFigure], str],
    first: str,
    second: str,
    *,
    allow_for: Sequence[Covariate] = (),
) -> Difference:
    """Compare the runs of two groups.

    Parameters
    ----------
    runs : all runs; those of other groups are left out.
    group_of : the group of a run.
    allow_for : covariates to take out, as far as the runs can tell them from the groups.

    Raises
    ------
    MeasureError : a group has no run.
    """
    mine = [r for r in runs if group_of(r) in (first, second)]
    sides = {label: [r for r in mine if group_of(r) == label] for label in (first, second)}
    for label, side in sides.items():
        if not side:
            raise MeasureError(f"no run to compare for {label!r}")
    y = np.array([log(r.ground_per_turn.value) for r in mine])
    u = np.array([r.ground_per_turn.relative for r in mine])
    columns = [np.array([float(group_of(r) == label) for r in mine]) for label in sides]
    allowed = []
    for covariate in allow_for:
        values = [covariate.of(r) for r in mine]
        added = False
        for value in sorted(set(values))[1:]:
            trial = [*columns, np.array([float(v == value) for v in values])]
            if np.linalg.matrix_rank(np.column_stack(trial)) == len(trial) <= len(mine):
                columns, added = trial, True
        if added:
            allowed.append(covariate)
    fitted = fit_random_effects(
        y, np.diag(u**2), prior_scale=DAY_SPREAD, design=np.column_stack(columns)
    )
    factors = np.zeros(len(columns))
    factors[:2] = (-1.0, 1.0)
    contrast = fitted.contrast(factors)
    moments, (low, high) = contrast.moments(), contrast.interval()
    logs = [[log(r.ground_per_turn.value) for r in side] for side in sides.values()]
    testable = min(map(len, logs)) > 1 and any(len(set(side)) > 1 for side in logs)
    plain = welch_test(logs[0], logs[1]) if testable and not allowed else None
    return Difference(
        first=_group(first, sides[first]),
        second=_group(second, sides[second]),
        relative=Measured(exp(moments.value) - 1, exp(moments.value) * moments.std),
        relative_95=(exp(low) - 1, exp(high) - 1),
        # half the interval over k stands for u with the t-tails that few runs bring
        smallest=smallest_change((high - low) / 2 / coverage_factor(inf)),
        welch=plain,
        allowed_for=tuple(allowed),
    )


def _group(label: str, runs: Sequence[RunFigure]) -> Group:
    y = np.array([log(r.ground_per_turn.value) for r in runs])
    u = np.array([r.ground_per_turn.relative for r in runs])
    mean = (
        fit_random_effects(y, np.diag(u**2), prior_scale=DAY_SPREAD).contrast(np.ones(1)).moments()
    )
    value = exp(mean.value)
    return Group(
        label=label,
        runs=len(runs),
        passes=sum(r.passes for r in runs),
        ground_per_turn=Measured(value, value * mean.std),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitStanding:
    """One row unit over the season: its turns over those of its neighbours (1: alike).

    ``lags`` says that it turned measurably less, ``runs_lagging`` on how many runs it was named
    singly.
    """

    unit: str
    runs: int
    turns_against_others: Measured
    turns_against_others_95: tuple[float, float]
    lags: bool
    runs_lagging: int


def units_over_season(runs: Sequence[UnitRun]) -> list[UnitStanding]:
    """Every row unit against its neighbours over all runs.

    Each is tested one-sided at the level of the season over the number of units (Bonferroni), and
    named only where it turned at least 1 % less.
    """
    names = list(dict.fromkeys(r.unit for r in runs))
    found = []
    for name in names:
        mine = [r for r in runs if r.unit == name]
        y = np.array([log(r.turns_against_others.value) for r in mine])
        u = np.array([max(r.turns_against_others.relative, 1e-6) for r in mine])
        mixture = fit_random_effects(y, np.diag(u**2), prior_scale=UNIT_SPREAD).contrast(np.ones(1))
        moments, (low, high) = mixture.moments(), mixture.interval()
        alike = 1 - mixture.cdf(0.0)  # weight of "no less than its neighbours"
        found.append(
            UnitStanding(
                unit=name,
                runs=len(mine),
                turns_against_others=Measured(exp(moments.value), exp(moments.value) * moments.std),
                turns_against_others_95=(exp(low), exp(high)),
                lags=alike < UNIT_ALARM / len(names) and moments.value < log(1 - LEAST_SHORTFALL),
                runs_lagging=sum(r.lags for r in mine),
            )
        )
    return found
