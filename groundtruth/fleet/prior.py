"""What a fleet teaches the next run: how passes differ, and how far machines are off."""

from __future__ import annotations

from math import log

import numpy as np
from numpy.typing import NDArray

from ..core.assumptions import SPREAD_PRIOR
from ..core.errors import InputError
from ..core.fleet_prior import SHARES, SPREAD_SCALES, FleetPrior, MachinePrior
from ..stats.random_effects import PRIOR_DEGREES_OF_FREEDOM
from .data_set import Fleet

Array = NDArray[np.float64]

LEAST_PASSES, LEAST_RUNS, LEAST_SEEDERS = 3, 30, 30
"""Runs of fewer passes say next to nothing about a spread; fewer runs or seeders teach nothing
to rely on. Our choice."""
CORE_STDS = (SHARES["std"][0], 0.1)
ODD_RATIOS = (2.5, 20.0)
"""Odd machines vary so many times more than others. Our choice."""
ODD_SHARES = (0.05, 0.6)
"""However alike a fleet's machines are, the next one may be odd. Our choice."""
_POINTS = 40

_SPREADS = f"""
SELECT spread_m / ground_per_turn_m AS mean, spread_std_m / ground_per_turn_m AS std FROM runs
WHERE status = 'measured' AND passes >= {LEAST_PASSES} AND mean BETWEEN 1e-5 AND 1
  AND std BETWEEN 1e-5 AND 1 AND mean / std BETWEEN 0.05 AND 1000
ORDER BY run_key
"""
_MACHINES = """
SELECT log_change AS figure, log_std AS std FROM runs
WHERE status = 'shared' OR (status = 'measured' AND NOT nameless)
QUALIFY log_change IS NOT NULL AND log_std BETWEEN 1e-6 AND 1
  AND (status = 'shared' OR row_number() OVER (
  PARTITION BY status, farm_key, seeder_key ORDER BY change IS NULL, date, run_key) = 1)
ORDER BY run_key
"""
"""The first run of each seeder: later figures in use were set by what it found."""


def fleet_prior(fleet: Fleet) -> FleetPrior:
    """The prior that a fleet gives.

    Raises
    ------
    InputError : fewer than 30 runs of three passes.
    """
    spreads = fleet.asked(_SPREADS)
    if len(spreads["mean"]) < LEAST_RUNS:
        raise InputError(
            f"{fleet.folder}: {len(spreads['mean'])} runs of {LEAST_PASSES} passes or more; a "
            f"prior needs {LEAST_RUNS}"
        )
    machines = fleet.asked(_MACHINES)
    seeders = len(machines["figure"])
    return FleetPrior(
        spread_scale=spread_scale(spreads["mean"], spreads["std"]),
        machines=machine_prior(machines["figure"], machines["std"] ** 2)
        if seeders >= LEAST_SEEDERS
        else None,
        runs=len(spreads["mean"]),
        seeders=seeders,
    )


def spread_scale(mean: Array, std: Array) -> float:
    """Scale of the half-t prior under which the runs' spreads between passes are most likely.

    ``mean`` and ``std`` (n,) are the posterior moments of the relative spread of each run under
    the prior that measuring assumes. The marginal likelihood of a run under another prior is, up
    to a constant, the posterior mean of the ratio of the two priors; the posterior is taken as a
    gamma distribution of these moments. A benchmark sets the scale beside the true one.
    """
    from scipy.optimize import minimize_scalar
    from scipy.special import gammaincinv

    at = (np.arange(_POINTS) + 0.5) / _POINTS
    shape = (mean / std) ** 2
    spread = gammaincinv(shape[:, None], at) * (std**2 / mean)[:, None]
    assumed = _log_half_t(spread, SPREAD_PRIOR)

    def cost(log_scale: float) -> float:
        ratio = np.exp(_log_half_t(spread, float(np.exp(log_scale))) - assumed)
        return -float(np.log(ratio.mean(axis=1)).sum())

    found = minimize_scalar(cost, bounds=(log(SPREAD_SCALES[0]), log(SPREAD_SCALES[1])),
                            method="bounded")  # fmt: skip
    return float(np.exp(found.x))


def _log_half_t(spread: Array, scale: float) -> Array:
    nu = PRIOR_DEGREES_OF_FREEDOM
    return np.asarray(-np.log(scale) - 0.5 * (nu + 1) * np.log1p((spread / scale) ** 2 / nu))


def machine_prior(figure: Array, variance: Array) -> MachinePrior:
    """Two normals about one mean that make the log ratios (n,), measured with these variances,
    most likely."""
    from scipy.optimize import minimize

    def cost(x: Array) -> float:
        mean, (core, times, odd) = x[0], np.exp(x[1:])
        parts = [
            np.log(weight) - 0.5 * np.log(total) - 0.5 * (figure - mean) ** 2 / total
            for weight, total in (
                (1 - odd, variance + core**2),
                (odd, variance + (core * times) ** 2),
            )
        ]
        return -float(np.logaddexp(*parts).sum())

    usual = float(np.median(figure))
    size = float(np.median(np.abs(figure - usual)))
    starts = [
        np.array([usual, np.log(np.clip(size, 0.003, 0.09)), np.log(times), np.log(odd)])
        for times in (3.0, 6.0)
        for odd in (0.08, 0.3)
    ]
    bounds = [SHARES["mean"], *np.log([CORE_STDS, ODD_RATIOS, ODD_SHARES]).tolist()]
    found = min(
        (minimize(cost, start, method="L-BFGS-B", bounds=bounds) for start in starts),
        key=lambda one: float(one.fun),
    )
    core, times, odd = np.exp(found.x[1:]).tolist()
    return MachinePrior(
        mean=float(found.x[0]),
        std=core,
        odd_share=odd,
        odd_std=min(core * times, SHARES["odd_std"][1]),
    )
