"""Seeds per turn over the settings: a curve that never falls, with what is not known of it.

Draws from what each tried setting's catches leave possible are made monotone (isotonic
regression, each draw projected: Lin & Dunson 2014, Biometrika 101:303). A setting that was not
tried lies somewhere between its tried neighbours, and nothing more is taken as known: its place is
drawn from a bridge whose mean is the straight line and whose scatter fills the gap.
Settings beyond the outermost tried ones get no figure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ..core.counts import BenchCount
from ..core.errors import MeasureError
from ..core.measured import Measured
from ..stats.intervals import Dispersion
from .bench_figures import SettingFigure, dispersion_of, setting_figure
from .setting_order import positions, settings_in_order

Array = NDArray[np.float64]

DRAWS = 4000
"""Enough for an interval's end to repeat within 0.1 standard deviations; from a fixed seed, so
that the same counts give the same card."""
_SEED = 20_260_101


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SettingCurve:
    """Seeds per turn from the lowest tried setting to the highest.

    ``settings`` in order, ``tried`` their figures or None, ``draws`` (n, settings) of seeds per
    turn, ``dispersion_draws`` (n,) of the dispersion factor. ``beyond`` are known settings outside
    the tried range. ``order_broken`` says that the counts themselves fall somewhere.
    """

    settings: tuple[str, ...]
    tried: tuple[SettingFigure | None, ...]
    draws: Array
    dispersion: Dispersion
    dispersion_draws: Array
    beyond: tuple[str, ...]
    order_broken: bool

    def seeds_per_turn(self, index: int) -> Measured:
        """Mean and standard deviation at a setting."""
        column = self.draws[:, index]
        return Measured(float(column.mean()), float(column.std()))

    def seeds_per_turn_95(self, index: int) -> tuple[float, float]:
        """Interval at a setting."""
        low, high = np.quantile(self.draws[:, index], (0.025, 0.975))
        return float(low), float(high)


def setting_curve(counts: Sequence[BenchCount], declared: Sequence[str] = ()) -> SettingCurve:
    """The curve through the catches of one crop and seed lot.

    >>> catches = [
    ...     BenchCount(crop="beet", seed_lot="", setting=name, turns=6, seeds=Measured(seeds))
    ...     for name, seeds in (("9", 89), ("9", 91), ("11", 120), ("11", 122))
    ... ]
    >>> curve = setting_curve(catches)
    >>> curve.settings, [round(curve.seeds_per_turn(i).value) for i in (0, 1)]
    (('9', '11'), [15, 20])

    Raises
    ------
    MeasureError : there are no counts, or all are of no seeds.
    SeederError : a setting is not in the order ``declared`` (see `settings_in_order`).
    """
    if not counts or not any(c.seeds.value for c in counts):
        raise MeasureError("no seeds were caught; a curve needs catches with seeds")
    order = settings_in_order([c.setting for c in counts], declared)
    dispersion = dispersion_of(counts)
    by_setting = {
        setting: setting_figure([c for c in counts if c.setting == setting], dispersion)
        for setting in order
        if any(c.setting == setting for c in counts)
    }
    indices = [i for i, s in enumerate(order) if s in by_setting]
    first, last = indices[0], indices[-1]
    figures = list(by_setting.values())
    rng = np.random.default_rng(_SEED)
    factor = _dispersion_draws(dispersion, rng)
    drawn = _monotone(
        np.column_stack([_rate_draws(f, factor, rng) for f in figures]),
        np.array([f.turns for f in figures]),
    )
    shared = max(c.shared_relative for c in counts)
    drawn *= np.exp(shared * rng.standard_normal(DRAWS))[:, None]
    rates = [f.seeds_per_turn.value for f in figures]
    return SettingCurve(
        settings=order[first : last + 1],
        tried=tuple(by_setting.get(s) for s in order[first : last + 1]),
        draws=_bridged(drawn, [i - first for i in indices], positions(order)[first:], rng),
        dispersion=dispersion,
        dispersion_draws=factor,
        beyond=order[:first] + order[last + 1 :],
        order_broken=any(b < a for a, b in pairwise(rates)),
    )


def _dispersion_draws(dispersion: Dispersion, rng: np.random.Generator) -> Array:
    """The factor as its estimate leaves it: scaled inverse χ² with its degrees of freedom."""
    free = dispersion.degrees_of_freedom
    if not free:
        return np.full(DRAWS, dispersion.factor)
    return np.asarray(dispersion.factor * free / rng.chisquare(free, DRAWS))


def _rate_draws(figure: SettingFigure, factor: Array, rng: np.random.Generator) -> Array:
    """Seeds per turn as the catches leave it: gamma, for φ = 1 the posterior of a Poisson mean
    under Jeffreys' prior (Jeffreys 1961, *Theory of Probability*, 3rd ed., 3.10, from memory)."""
    shape = (figure.seeds + 0.5 * np.minimum(factor, 1.0)) / factor
    return np.asarray(rng.gamma(np.maximum(shape, 0.05)) * factor / figure.turns)


def _monotone(draws: Array, weights: Array) -> Array:
    from scipy.optimize import isotonic_regression

    falling = (np.diff(draws, axis=1) < 0).any(axis=1)
    for row in np.flatnonzero(falling):
        draws[row] = isotonic_regression(draws[row], weights=weights).x
    return draws


def _bridged(
    drawn: Array, known: list[int], places: tuple[float, ...], rng: np.random.Generator
) -> Array:
    """Columns for the untried settings between the tried ones."""
    full = np.empty((len(drawn), known[-1] + 1))
    full[:, known] = drawn
    for (a, left), (b, right) in pairwise(enumerate(known)):
        if right - left > 1:
            gaps = np.diff(places[left : right + 1])
            steps = rng.dirichlet(gaps / gaps.mean(), len(drawn)).cumsum(axis=1)[:, :-1]
            rise = (drawn[:, b] - drawn[:, a])[:, None]
            full[:, left + 1 : right] = drawn[:, a][:, None] + steps * rise
    return full
