"""Log likelihood, for each bed that a pass may lie on, of the name that a turn sheet gives it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from math import log

import numpy as np

from .types import Array, Ints

_WRONG_NAME = 1e-4
_OTHER_NUMBERING = 0.02
"""Probability that beds named with numbers (N7, N8) do not lie as their numbers say."""
_NAMES_BACK = 6
_NUMBERED = re.compile(r"(.*?)(\d{1,4})")


def known_name_log_likelihood(name: str, names: Mapping[str, int], low: int, count: int) -> Array:
    """Log likelihood of a name on each bed from what beds are called already, shape (J,)."""
    found = np.zeros(count)
    if not name or not names:
        return found
    if name in names:
        found[:] = log(_WRONG_NAME)
        found[names[name] - low] = 0.0
    else:
        found[[j - low for j in names.values()]] = log(_WRONG_NAME)
    return found


def names_of_day_log_likelihood(names: Sequence[str], path: Ints, count: int) -> Array | float:
    """Log likelihood of a name from those of this day's earlier passes, shape (h, J) or 0.

    ``names`` are those up to this pass, ``path`` (h, passes before it) the beds. One name is one
    bed, two names are two; names that differ in their number only lie as far apart as the numbers.
    """
    *before, name = names
    if not name:
        return 0.0
    found: Array | float = 0.0
    at = np.arange(count)[None, :]
    named = [m for m, other in enumerate(before) if other]
    same = [m for m in named if before[m] == name]
    for m in {*same, *named[-_NAMES_BACK:]}:
        apart = np.abs(at - path[:, m : m + 1])
        if before[m] == name:
            found = found + np.where(apart != 0, log(_WRONG_NAME), 0.0)
            continue
        found = found + np.where(apart == 0, log(_WRONG_NAME), 0.0)
        steps = _numbers_apart(name, before[m])
        if steps is not None:
            found = found + np.where(apart != steps, log(_OTHER_NUMBERING), 0.0)
    return found


def _numbers_apart(one: str, other: str) -> int | None:
    """How far the numbers of two names lie apart, None where the rest differs or has none."""
    a, b = _NUMBERED.fullmatch(one), _NUMBERED.fullmatch(other)
    if not a or not b or a[1].casefold() != b[1].casefold():
        return None
    return abs(int(a[2]) - int(b[2]))
