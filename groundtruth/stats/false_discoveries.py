"""Many questions at once: which can be answered yes, so that few of the yeses are wrong."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def discoveries(p_values: NDArray[np.float64], rate: float = 0.05) -> NDArray[np.bool_]:
    """Which hypotheses are rejected (n,), so that of these at most ``rate`` are true on average.

    The step-up procedure of Benjamini & Hochberg 1995, Journal of the Royal Statistical Society B
    57:289; it holds for p-values that are independent or positively dependent.

    Their own example, 15 comparisons of treatments of heart attacks (section 3.2, from memory), of
    which the procedure rejects four:

    >>> p = np.array([0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344,
    ...               0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0000])
    >>> int(discoveries(p).sum())
    4
    """
    count = len(p_values)
    order = np.argsort(p_values, kind="stable")
    below = p_values[order] <= rate * np.arange(1, count + 1) / max(count, 1)
    last = int(np.flatnonzero(below).max(initial=-1))
    found = np.zeros(count, dtype=bool)
    found[order[: last + 1]] = True
    return found
