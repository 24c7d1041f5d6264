"""Which runs of fixes were shifted as a block.

Multipath shifts all fixes of some seconds by the same few metres; such blocks are set aside.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from .influence import StepGrams
from .pass_coordinates import Stretch

Array = NDArray[np.float64]

THRESHOLD = 24.0
"""Likelihood ratio (2·Δlog L, both axes) at which a block counts as shifted."""
LONGEST_S = 12.0
MOST_BLOCKS = 8


def shifted_fixes(steps: StepGrams, threshold: float = THRESHOLD) -> NDArray[np.bool_]:
    """Which of the fixes lie in blocks that were shifted together. (fixes,)

    A block from fix a up to the one before b, moved by an unknown offset, adds a step at a minus
    one at b. A block from the first fix on looks like all the rest moved the other way, since
    the place of the pass is free: of the two the shorter is meant. The Gram matrices give the
    likelihood ratio of every block; the greatest one is taken, if it passes the threshold, and
    the search goes on with that block explained.
    """
    n = len(steps.time_s)
    shifted = np.zeros(n, dtype=bool)
    if n < 8:
        return shifted
    # b = n is a block that lasts to the last fix: a column of zeros stands for "no step back"
    grams = [np.pad(g, (0, 1)) for g in (steps.along, steps.across)]
    when = np.append(steps.time_s, steps.time_s[-1] + 1.0)
    a, b = np.triu_indices(n + 1, 1)
    near = (when[b] - when[a] <= LONGEST_S) & (b - a < n)
    a, b = a[near], b[near]
    for _ in range(MOST_BLOCKS):
        ratio = np.zeros(len(a))
        for g in grams:
            pull = g[0, 1 + a] - g[0, 1 + b]
            size = g[1 + a, 1 + a] + g[1 + b, 1 + b] - 2 * g[1 + a, 1 + b]
            ratio += np.where(size > 1e-9, pull**2 / np.maximum(size, 1e-9), 0.0)
        best = int(np.argmax(ratio))
        if ratio[best] < threshold:
            break
        shifted[a[best] : b[best]] = True
        grams = [_explained(g, 1 + a[best], 1 + b[best]) for g in grams]
    if (~shifted).sum() < max(4, n // 3):
        shifted[:] = False
    return shifted


def set_aside(stretch: Stretch, shifted: NDArray[np.bool_]) -> Stretch:
    """The stretch without the shifted ones among its used fixes."""
    used = stretch.used.copy()
    used[np.flatnonzero(used)[shifted]] = False
    return replace(stretch, used=used)


def _explained(gram: Array, a: int, b: int) -> Array:
    """Take the block column a − b out of all columns."""
    block = gram[a] - gram[b]
    size = block[a] - block[b]
    return np.asarray(gram - np.outer(block, block) / size)
