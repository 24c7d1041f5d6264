"""What a tape or shared pegs know of the ground enters as observations beside the positions.

With distances d, covariance C and observations y = A·d + e, e ~ N(0, R), the best linear estimate
is d + K(y − A·d), K = C·Aᵀ(A·C·Aᵀ + R)⁻¹, and its error is (I − K·A)·(error of d) + K·e: so the
covariance of every source passes through I − K·A, and what is known adds K·R·Kᵀ (Kalman 1960,
J. Basic Engineering 82:35; Rasmussen & Williams 2006, A.2; from memory).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from ..core.measured import Measured
from ..core.uncertainty import UncertaintySource

Array = NDArray[np.float64]

TAPE_SHARE = 0.002
"""Limits of a taped length that is written without any: a taped bed is good to 0.1-0.3 %."""


def tape_doubt(taped: Measured) -> Measured:
    """A taped length with its limits, or with usual ones where none were written."""
    if taped.std > 0:
        return taped
    return Measured(taped.value, taped.value * TAPE_SHARE / 3**0.5)


def with_known_lengths(
    distance_m: Array,
    covariance_m2: Mapping[UncertaintySource, Array],
    *,
    taped: Sequence[Measured | None],
    common: Measured | None = None,
    alike_std_m: float | None = None,
) -> tuple[Array, dict[UncertaintySource, Array]]:
    """Distances (k,) and covariances (k, k) by source after what is known of them.

    ``taped`` holds the taped length of each pass or None. ``common`` is one taped length that all
    passes share, ``alike_std_m`` how far a pass may stray from the common length (standard
    deviation): all beds run between the same two pegged lines. Without ``alike_std_m`` a common
    length is shared exactly.
    """
    k = len(distance_m)
    sources = {name: np.asarray(c, dtype=float) for name, c in covariance_m2.items()}
    distance = np.asarray(distance_m, dtype=float)
    rows = [i for i, t in enumerate(taped) if t is not None]
    if rows:
        lengths = [tape_doubt(t) for t in taped if t is not None]
        observed = np.array([t.value for t in lengths])
        noise = np.diag([t.std**2 for t in lengths])
        distance, sources = _observe(
            distance, sources, np.eye(k)[rows], observed, noise, UncertaintySource.TAPED
        )
    stray = (alike_std_m or 0.0) ** 2 * np.eye(k)
    if common is not None:
        length = tape_doubt(common)
        noise = stray + np.full((k, k), length.std**2)
        observed = np.full(k, length.value)
        distance, sources = _observe(
            distance, sources, np.eye(k), observed, noise, UncertaintySource.TAPED
        )
    elif alike_std_m is not None and k > 1:
        # the common length itself is not known: only differences from the first are observed
        differences = np.hstack([-np.ones((k - 1, 1)), np.eye(k - 1)])
        noise = differences @ stray @ differences.T
        distance, sources = _observe(
            distance, sources, differences, np.zeros(k - 1), noise, UncertaintySource.PEGGED
        )
    return distance, sources


def _observe(
    distance: Array,
    sources: Mapping[UncertaintySource, Array],
    design: Array,
    observed: Array,
    noise: Array,
    name: UncertaintySource,
) -> tuple[Array, dict[UncertaintySource, Array]]:
    total = sum(sources.values(), start=np.zeros((len(distance), len(distance))))
    # a hair of noise keeps exact knowledge of several lengths invertible
    inner = design @ total @ design.T + noise + 1e-8 * np.eye(len(observed))
    gain = np.linalg.solve(inner, design @ total).T
    keep = np.eye(len(distance)) - gain @ design
    after = {source: keep @ c @ keep.T for source, c in sources.items()}
    added = gain @ noise @ gain.T
    after[name] = after[name] + added if name in after else added
    return distance + gain @ (observed - design @ distance), after
