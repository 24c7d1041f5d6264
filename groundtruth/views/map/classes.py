"""Which colour a pass is drawn in, and the legend that says so.

Slip: five steps of viridis (S. van der Walt & N. Smith, 2015, published into the public domain
with matplotlib), dark for much; the same classes on every map, so that maps can be laid side by
side. Without slip: five steps of PuOr (C. Brewer, colorbrewer2.org, Apache License 2.0) for
ground per turn about the run's own figure. Both keep their order for red-green blind eyes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from ...core.display import PERCENT, ground_scale
from ...core.measured import Measured
from ...core.result import PassFigure, Result

VIRIDIS_5 = ("#fde725", "#5ec962", "#21918c", "#3b528b", "#440154")
PUOR_5 = ("#5e3c99", "#b2abd2", "#f7f7f7", "#fdb863", "#e66101")
SLIP_LIMITS = (0.02, 0.05, 0.08, 0.12)
"""Slip classes; 3 to 10 % is usual for a dragged wheel (common practice, no source)."""
GROUND_LIMITS = (-0.03, -0.01, 0.01, 0.03)
"""Classes of ground per turn, relative to the pooled figure."""


MOST_STD = 0.05
"""Relative standard uncertainty above which a colour would claim what is not known."""
UNSURE = -1


@dataclass(frozen=True, slots=True, kw_only=True)
class Legend:
    """Title with unit, and for each class, from low to high, its label and colour.

    ``limits`` divide the classes; a value on a limit belongs to the class above it. The outer
    classes are open. A standard uncertainty above ``most_std`` leaves the class unsaid.
    """

    title: str
    labels: tuple[str, ...]
    colours: tuple[str, ...]
    limits: tuple[float, ...]
    by_slip: bool
    most_std: float

    def value_of(self, figure: PassFigure) -> Measured | None:
        """What a row unit's pass is coloured by."""
        return figure.slip if self.by_slip else figure.ground_per_turn

    def middle(self, figures: Sequence[PassFigure]) -> Measured | None:
        """The value of the middle one of a pass's row units, so that a unit that drags for reasons
        of its own does not colour the soil; None where nothing is known."""
        values = [self.value_of(figure) for figure in figures]
        known = sorted((v for v in values if v is not None), key=lambda v: v.value)
        return known[(len(known) - 1) // 2] if known else None

    def class_of(self, figures: Sequence[PassFigure]) -> int | None:
        """Class of a pass, `UNSURE` where its uncertainty spans the classes, None where nothing
        is known."""
        middle = self.middle(figures)
        if middle is None:
            return None
        if middle.std > self.most_std:
            return UNSURE
        return sum(middle.value >= limit for limit in self.limits)


def legend_for(result: Result) -> Legend:
    """Slip where any pass has it, else ground per turn."""
    if any(figure.slip is not None for figure in result.passes):
        texts = [PERCENT.number(limit, 0) for limit in SLIP_LIMITS]
        return Legend(
            title="Slip, % of the ground covered",
            labels=_labels(texts),
            colours=VIRIDIS_5,
            limits=SLIP_LIMITS,
            by_slip=True,
            most_std=MOST_STD,
        )
    ground, pooled = ground_scale(result.units), result.ground_per_turn
    limits = tuple(pooled.value * (1 + share) for share in GROUND_LIMITS)
    places = max(1, ground.places(pooled.value * 0.01))
    return Legend(
        title=f"Ground per gear turn, {ground.unit}",
        labels=_labels([ground.number(limit, places) for limit in limits]),
        colours=PUOR_5,
        limits=limits,
        by_slip=False,
        most_std=MOST_STD * pooled.value,
    )


def _labels(limits: Sequence[str]) -> tuple[str, ...]:
    between = [f"{low} to {high}" for low, high in pairwise(limits)]
    return (f"under {limits[0]}", *between, f"{limits[-1]} and over")
