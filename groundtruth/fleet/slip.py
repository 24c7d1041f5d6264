"""How slip goes with soil, tyre, pressure, ballast and speed over all farms of a fleet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..core.errors import InputError
from ..core.measured import Measured
from ..stats.nested_effects import NestedEffects, fit_nested_effects
from .data_set import Fleet

Array = NDArray[np.float64]

PRESSURE_STEP_PA, SPEED_STEP_M_S = 25_000.0, 0.25
"""Widths of the classes of tyre pressure and speed in the table of cells."""
MOST_CELLS = 500
LEAST_RUNS = 8
"""Runs that a kind of tyre or soil needs to get an effect of its own; rarer ones are put together
as "other". Our choice."""
MOST_KINDS = 12
MOST_FITTED = 20_000
"""Runs from which the variances between farms, seeders and days are estimated; of more a part of
the farms is drawn for it, while the effects rest on all runs."""
_UNITS = (("tyre_pressure_pa", 10_000.0), ("ballast_kg", 10.0), ("speed_m_s", 0.1))
"""Numbers and the steps by which their effects are told."""

_CELLS = f"""
SELECT soil_moisture AS moisture, soil_texture AS texture, tyre,
  floor(tyre_pressure_pa / {PRESSURE_STEP_PA}) * {PRESSURE_STEP_PA} AS pressure_pa,
  floor(p.speed_m_s / {SPEED_STEP_M_S}) * {SPEED_STEP_M_S} AS speed_m_s,
  count(DISTINCT farm_key) AS farms, count(DISTINCT r.run_key) AS runs, count(*) AS passes,
  avg(p.slip) AS slip, coalesce(stddev_samp(p.slip), 0) AS slip_spread
FROM passes p JOIN runs r USING (run_key)
WHERE r.status = 'measured' AND p.slip IS NOT NULL
GROUP BY ALL ORDER BY passes DESC, 1, 2, 3, 4, 5 LIMIT {MOST_CELLS}
"""

_FIGURES = """
SELECT CASE WHEN nameless THEN run_key ELSE farm_key END AS farm_key,
  CASE WHEN nameless THEN '' ELSE seeder_key END AS seeder_key,
  coalesce(date, DATE '1980-01-06') AS date,
  log_rolled AS figure, log_std, soil_moisture, soil_texture, tyre,
  tyre_pressure_pa, ballast_kg, speed_m_s
FROM runs
WHERE status IN ('measured', 'shared') AND log_rolled IS NOT NULL AND log_std BETWEEN 1e-6 AND 1
ORDER BY ALL
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class SlipEffect:
    """What one thing does to slip, all else alike: ``more`` slip (a share) than ``than``.

    ``what`` is the column, ``kind`` the soil or tyre, or the step of a number.
    """

    what: str
    kind: str
    than: str
    runs: int
    more: Measured
    more_95: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class SlipAnswer:
    """Cells of soil × tyre × pressure × speed as they are, and effects with all else alike.

    ``usual`` is the slip of the commonest kinds at mean numbers; ``between_farms`` and so on are
    standard deviations of the log ratio that no covariate explains. ``untold`` are kinds that
    always come with others, so that no run tells their effects apart.
    """

    runs: int
    usual: Measured
    effects: tuple[SlipEffect, ...]
    untold: tuple[str, ...]
    between_farms: float
    between_seeders: float
    between_days: float
    cells: tuple[dict[str, Any], ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Term:
    """A column of the design."""

    what: str
    kind: str
    than: str
    values: Array


def slip_answer(fleet: Fleet) -> SlipAnswer:
    """Slip over the fleet: raw by cells, and by the model of farms, seeders and days.

    The figure of the model is the logarithm of ground per turn over the zero-slip travel, −log(1 −
    slip). An error of the travel is common to a seeder's runs and goes into the seeder's effect.

    Raises
    ------
    InputError : fewer than three runs with slip.
    """
    rows = fleet.asked(_FIGURES)
    figure = rows["figure"]
    if len(figure) < 3:
        raise InputError(
            f"{fleet.folder}: too few runs with slip ({len(figure)}); slip needs the wheel's "
            "circumference in the run files"
        )
    wanted = [term for term in _terms(rows) if term.values.any()]
    terms = _independent(wanted, len(figure))
    design = np.column_stack([np.ones(len(figure)), *(t.values for t in terms)])
    levels = [rows["farm_key"].astype(str), rows["seeder_key"].astype(str), rows["date"]]
    levels = [np.unique(one, return_inverse=True)[1] for one in levels]
    fitted = _fit(figure, rows["log_std"] ** 2, levels, design)
    usual = 1 - float(np.exp(-fitted.estimate[0]))
    stds = np.sqrt(fitted.variance)
    return SlipAnswer(
        runs=len(figure),
        usual=Measured(usual, (1 - usual) * float(fitted.std[0])),
        effects=tuple(_effect(t, i, fitted, usual) for i, t in enumerate(terms, start=1)),
        untold=tuple(_told(t) for t in wanted if t not in terms),
        between_farms=float(stds[0]),
        between_seeders=float(stds[1]),
        between_days=float(stds[2]),
        cells=tuple(fleet.rows(_CELLS)),
    )


def _fit(figure: Array, variance: Array, levels: list[Any], design: Array) -> NestedEffects:
    """The effects from all runs, the variances from as many whole farms as are enough."""
    known = None
    if len(figure) > MOST_FITTED:
        share = MOST_FITTED / len(figure)
        farms = np.random.default_rng(0).random(int(levels[0].max()) + 1) < share
        drawn = farms[levels[0]]
        varied = [0, *(np.flatnonzero(np.ptp(design[drawn][:, 1:], axis=0) > 0) + 1)]
        part = fit_nested_effects(
            figure[drawn],
            variance[drawn],
            levels=[one[drawn] for one in levels],
            design=design[drawn][:, varied],
        )
        known = part.variance
    return fit_nested_effects(figure, variance, levels=levels, design=design, effects=known)


def _terms(rows: dict[str, Any]) -> list[_Term]:
    """Kinds against the commonest kind, numbers about their mean; what is not known stands in
    the middle and has an effect of its own."""
    terms = []
    for what in ("soil_moisture", "soil_texture", "tyre"):
        kinds, place, count = np.unique(
            rows[what].astype(str), return_inverse=True, return_counts=True
        )
        order = [k for k in np.argsort(-count, kind="stable") if count[k] >= LEAST_RUNS]
        kept = order[:MOST_KINDS]
        if not kept:
            continue
        usual = _named(kinds[kept[0]])
        for k in kept[1:]:
            values = (place == k).astype(float)
            terms.append(_Term(what=what, kind=_named(kinds[k]), than=usual, values=values))
        other = ~np.isin(place, kept)
        terms.append(_Term(what=what, kind="other", than=usual, values=other.astype(float)))
    for what, step in _UNITS:
        values = rows[what].astype(float)
        known = np.isfinite(values)
        if known.any():
            centred = np.where(known, values - values[known].mean(), 0.0) / step
            terms.append(_Term(what=what, kind="step", than="", values=centred))
            unknown = (~known).astype(float)
            terms.append(_Term(what=what, kind="not known", than="known", values=unknown))
    return terms


def _named(kind: str) -> str:
    return str(kind) or "not known"


def _told(term: _Term) -> str:
    return term.what if term.kind == "step" else f"{term.what} {term.kind}"


def _independent(terms: list[_Term], runs: int) -> list[_Term]:
    """The terms that the runs can tell apart, the first of those that say the same."""
    kept: list[_Term] = []
    basis = [np.full(runs, runs**-0.5)]
    for term in terms:
        rest = term.values.copy()
        for _ in range(2):  # twice is enough [Giraud et al. 2005, from memory]
            for one in basis:
                rest -= (rest @ one) * one
        norm = float(np.linalg.norm(rest))
        if norm > 1e-6 * max(float(np.linalg.norm(term.values)), 1e-300) and len(basis) < runs - 1:
            basis.append(rest / norm)
            kept.append(term)
    return kept


def _effect(term: _Term, at: int, fitted: NestedEffects, usual: float) -> SlipEffect:
    """The effect on slip at the usual slip: d slip = (1 − slip)·d log ratio."""
    low, high = fitted.interval()[at].tolist()
    rolled = 1 - usual
    return SlipEffect(
        what=term.what,
        kind=term.kind,
        than=term.than,
        runs=int(np.count_nonzero(term.values)),
        more=Measured(rolled * float(fitted.estimate[at]), rolled * float(fitted.std[at])),
        more_95=(rolled * low, rolled * high),
    )
