"""Errors of passes and days beside what was stated of them, and tables of how well that holds."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .page import markdown_table

Array = NDArray[np.float64]
DRAWS = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A pass or a day: error, stated uncertainty and size in one unit; NaN where not measured.

    ``plain`` is the error of the plain estimate; ``held`` 1 where the day's own 95 % interval holds
    the truth, 0 where not.
    """

    device: str
    drive: str
    kind: str
    error: float
    std: float
    size: float
    plain: float = float("nan")
    held: float = float("nan")


Columns = dict[str, Array]


def columns_of(figures: Sequence[Figure]) -> Columns:
    """The numbers of the figures, an array each."""
    names = ("error", "std", "size", "plain", "held")
    return {n: np.array([getattr(f, n) for f in figures], dtype=float) for n in names}


def _share(c: Columns, width: float) -> float:
    seen = np.isfinite(c["error"])
    if width == 1.96 and np.isfinite(c["held"]).any():
        return 100 * float(np.nanmean(c["held"]))
    return 100 * float(np.mean(np.abs(c["error"][seen]) <= width * c["std"][seen]))


def _rms(values: Array) -> float:
    return float(np.sqrt(np.nanmean(values**2)))


STATISTICS: dict[str, Callable[[Columns], float]] = {
    "in 95 %": lambda c: _share(c, 1.96),
    "in 68 %": lambda c: _share(c, 1.0),
    "rms z": lambda c: _rms(c["error"] / c["std"]),
    "bias %": lambda c: 100 * float(np.nanmean(c["error"] / c["size"])),
    "RMSE": lambda c: _rms(c["error"]),
    "u": lambda c: _rms(c["std"]),
    "plain RMSE": lambda c: _rms(c["plain"][np.isfinite(c["error"])]),
    "÷ plain": lambda c: _rms(c["error"]) / _rms(c["plain"][np.isfinite(c["error"])]),
    "not measured %": lambda c: 100 * float(np.mean(~np.isfinite(c["error"]))),
}
DIGITS = {"in 95 %": 1, "in 68 %": 0, "rms z": 2, "bias %": 1, "÷ plain": 2, "not measured %": 1}
"""Digits after the point; the others have three significant ones."""


def intervals(figures: Sequence[Figure], names: Sequence[str]) -> dict[str, tuple[float, float]]:
    """95 % interval of each statistic named, drives drawn with replacement."""
    drives = sorted({f.drive for f in figures})
    parts = [columns_of([f for f in figures if f.drive == d]) for d in drives]
    rng = np.random.default_rng(1)
    drawn: dict[str, list[float]] = {name: [] for name in names}
    for _ in range(DRAWS if len(drives) > 1 else 0):
        chosen = [parts[i] for i in rng.integers(len(drives), size=len(drives))]
        joined = {k: np.concatenate([c[k] for c in chosen]) for k in chosen[0]}
        if np.isfinite(joined["error"]).any():
            for name in names:
                drawn[name].append(STATISTICS[name](joined))
    return {
        name: (float(np.nanpercentile(v, 2.5)), float(np.nanpercentile(v, 97.5)))
        for name, v in drawn.items()
        if np.isfinite(v).any()
    }


def cell(name: str, value: float, between: tuple[float, float] | None = None) -> str:
    """A statistic with its interval in brackets, "–" where there is none."""
    if not np.isfinite(value):
        return "–"

    def text(v: float) -> str:
        return f"{v:.{DIGITS[name]}f}" if name in DIGITS else f"{v:.3g}"

    return text(value) + (f" ({text(between[0])} to {text(between[1])})" if between else "")


def table(figures: Sequence[Figure], unit: str) -> str:
    """One line a make, one a kind of day, and one for all, as Markdown."""
    groups = [
        (d, [f for f in figures if f.device == d]) for d in sorted({f.device for f in figures})
    ]
    groups += [(k, [f for f in figures if f.kind == k]) for k in sorted({f.kind for f in figures})]
    rows = []
    wanted = [
        n for n in STATISTICS if "plain" not in n or any(np.isfinite(f.plain) for f in figures)
    ]
    for group_name, group in [*groups, ("all", list(figures))]:
        numbers = columns_of(group)
        start = [group_name, len(group), len({f.drive for f in group})]
        if not np.isfinite(numbers["error"]).any():
            rows.append([*start, *["–"] * (len(wanted) - 1), "100"])
            continue
        between = intervals(group, wanted)
        rows.append([*start, *(cell(n, STATISTICS[n](numbers), between.get(n)) for n in wanted)])
    head = [f"{n}, {unit}" if n in ("RMSE", "u", "plain RMSE") else n for n in wanted]
    return markdown_table(("", "n", "drives", *head), rows)
