"""Which colour a figure is drawn in on a map, and the legend that says so.

Slip: five steps of viridis (S. van der Walt & N. Smith, 2015, published into the public domain
with matplotlib), dark for much; the same classes on every map, so that maps can be laid side by
side. Without slip: five steps of PuOr (C. Brewer, colorbrewer2.org, Apache License 2.0) for
ground per turn about the run's own figure. Both keep their order for red-green blind eyes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from ...core.display import PERCENT, ground_scale, span
from ...core.language import say
from ...core.measured import Measured
from ...core.run import UnitSystem

VIRIDIS_5 = ("#fde725", "#5ec962", "#21918c", "#3b528b", "#440154")
PUOR_5 = ("#5e3c99", "#b2abd2", "#f7f7f7", "#fdb863", "#e66101")
SLIP_LIMITS = (0.02, 0.05, 0.08, 0.12)
"""Slip classes; 3 to 10 % is usual for a dragged wheel (common practice, no source)."""
GROUND_LIMITS = (-0.03, -0.01, 0.01, 0.03)
"""Classes of ground per turn, relative to the pooled figure."""
MOST_STD = 0.05
"""Relative standard uncertainty above which a colour would claim what is not known."""
UNSURE = -1
GREY = "#b4babb"
"""For what is not known, or too unsure to say."""


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
    most_std: float

    def class_of(self, value: Measured | None) -> int | None:
        """Class of a figure, `UNSURE` where its uncertainty spans the classes, None where it is
        not known."""
        if value is None:
            return None
        if value.std > self.most_std:
            return UNSURE
        return sum(value.value >= limit for limit in self.limits)

    def colour_of(self, value: Measured | None) -> str:
        """Colour of a figure's class, `GREY` where it has none."""
        found = self.class_of(value)
        return GREY if found is None or found == UNSURE else self.colours[found]


def slip_legend() -> Legend:
    """The classes of slip, the same on every map."""
    return Legend(
        title=say("Slip, % of the ground covered"),
        labels=_labels([PERCENT.number(limit, 0) for limit in SLIP_LIMITS]),
        colours=VIRIDIS_5,
        limits=SLIP_LIMITS,
        most_std=MOST_STD,
    )


def ground_legend(about_m: float, units: UnitSystem) -> Legend:
    """The classes of ground per turn about a figure in the middle (m)."""
    ground = ground_scale(units)
    limits = tuple(about_m * (1 + share) for share in GROUND_LIMITS)
    places = max(1, ground.places(about_m * 0.005))
    return Legend(
        title=say("Ground per gear turn, {unit}", unit=ground.unit),
        labels=_labels([ground.number(limit, places) for limit in limits]),
        colours=PUOR_5,
        limits=limits,
        most_std=MOST_STD * about_m,
    )


def _labels(limits: Sequence[str]) -> tuple[str, ...]:
    between = [span(low, high) for low, high in pairwise(limits)]
    return (
        say("under {limit}", limit=limits[0]),
        *between,
        say("{limit} and over", limit=limits[-1]),
    )
