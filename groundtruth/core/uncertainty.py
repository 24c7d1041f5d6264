"""What the uncertainty of a figure is made of."""

from __future__ import annotations

from enum import StrEnum


class UncertaintySource(StrEnum):
    """A source of uncertainty in the pooled ground per turn. The values are those of the JSON."""

    POSITION = "position noise"
    ENDS = "ends of the passes"
    INSTANTS = "instants in the turn sheet"
    SLOPE = "slope"
    WINDING = "bow and weave"
    TAPED = "taped lengths"
    PEGGED = "shared headland lines"
    COUNTING = "counting turns"
    ROW_UNITS = "between row units on one pass"
    PASSES = "spread between passes"
