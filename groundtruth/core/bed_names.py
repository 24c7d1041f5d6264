"""Names of beds, many of them said shortly."""

from __future__ import annotations

import re
from collections.abc import Iterable

_NUMBERED = re.compile(r"(.*?)([1-9]\d{0,3})", re.S)


def beds_in_short(names: Iterable[str]) -> str:
    """The names in their order, each once; three and more that count up by one as a range.

    >>> beds_in_short(["N1", "N2", "N3", "N4", "N7", "N8", "east", "N1"])
    'N1–N4, N7, N8, east'
    """
    runs: list[list[str]] = []
    for name in dict.fromkeys(name for name in names if name):
        if runs and _follows(runs[-1][-1], name):
            runs[-1].append(name)
        else:
            runs.append([name])
    return ", ".join(f"{run[0]}–{run[-1]}" if len(run) > 2 else ", ".join(run) for run in runs)


def _follows(one: str, other: str) -> bool:
    """Whether a name is that of the next number."""
    a, b = _NUMBERED.fullmatch(one), _NUMBERED.fullmatch(other)
    return bool(a and b and a[1] == b[1] and int(b[2]) == int(a[2]) + 1)
