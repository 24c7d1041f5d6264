"""What the sources of uncertainty are called."""

from __future__ import annotations

from ...core.language import English
from ...core.uncertainty import UncertaintySource

SOURCE_NAMES = {
    UncertaintySource.POSITION: English("the position noise"),
    UncertaintySource.ENDS: English("the ends of the passes"),
    UncertaintySource.INSTANTS: English("the instants in the turn sheet"),
    UncertaintySource.SLOPE: English("the slope"),
    UncertaintySource.WINDING: English("the bow and weave"),
    UncertaintySource.TAPED: English("the taped lengths"),
    UncertaintySource.PEGGED: English("the shared headland lines"),
    UncertaintySource.COUNTING: English("counting turns"),
    UncertaintySource.ROW_UNITS: English("the difference between row units on one pass"),
    UncertaintySource.PASSES: English("the spread between passes"),
}
"""Sources inside a sentence."""
BARE_SOURCE_NAMES = {
    UncertaintySource.POSITION: English("position noise"),
    UncertaintySource.ENDS: English("ends of the passes"),
    UncertaintySource.INSTANTS: English("instants in the turn sheet"),
    UncertaintySource.SLOPE: English("slope"),
    UncertaintySource.WINDING: English("bow and weave"),
    UncertaintySource.TAPED: English("taped lengths"),
    UncertaintySource.PEGGED: English("shared headland lines"),
    UncertaintySource.COUNTING: English("counting turns"),
    UncertaintySource.ROW_UNITS: English("difference between row units on one pass"),
    UncertaintySource.PASSES: English("spread between passes"),
}
"""Sources in a list."""
