"""Ground per turn with what a fleet knows of machines, to stand beside the run's own."""

from __future__ import annotations

from math import exp, log

import numpy as np

from ..core.fleet_prior import FleetFigure, FleetPrior
from ..core.measured import Measured
from ..stats.assisted_interval import assisted
from ..stats.random_effects import NormalMixture
from .slip import Pooled

DROPPED_ABOVE = 0.95
"""An odd machine is one that the fleet knows nothing of: where it is so sure to be one, the
fleet's knowledge is dropped. docs/fleet.md shows that the interval holds for odd machines too."""


def with_fleet(
    pooled: Pooled, in_use_m: float | None, prior: FleetPrior | None
) -> FleetFigure | None:
    """The figure with the prior's help; None without one, or without a figure in use to be off."""
    if prior is None or prior.machines is None or in_use_m is None:
        return None
    if not pooled.ground_per_turn.std > 0:  # known exactly: nothing to add
        return None
    known = prior.machines
    about = log(in_use_m) + known.mean
    found = assisted(
        pooled.log_ground,
        NormalMixture(
            weight=np.array([1 - known.odd_share, known.odd_share]),
            mean=np.array([about, about]),
            variance=np.array([known.std**2, known.odd_std**2]),
        ),
    )
    odd = found.weight[1]
    if odd > DROPPED_ABOVE:
        return FleetFigure(
            ground_per_turn=pooled.ground_per_turn,
            ground_per_turn_95=pooled.ground_per_turn_95,
            odd=odd,
            dropped=True,
        )
    value, (low, high) = exp(found.posterior.value), found.interval
    return FleetFigure(
        ground_per_turn=Measured(value, value * found.posterior.std),
        ground_per_turn_95=(exp(low), exp(high)),
        odd=odd,
        dropped=False,
    )
