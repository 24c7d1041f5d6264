"""Constants with sources; reading and showing quantities as people write them.

Everything inside the package is SI; this module and the output modules are the only edge.
"""

from __future__ import annotations

from typing import NamedTuple


class Constant(NamedTuple):
    """A number that must not exist without its unit and source."""

    value: float
    unit: str
    source: str


INCH = Constant(0.0254, "m", "exact; international yard and pound agreement, 1959")
FOOT = Constant(0.3048, "m", "exact; international yard and pound agreement, 1959")
YARD = Constant(0.9144, "m", "exact; international yard and pound agreement, 1959")
MILE = Constant(1609.344, "m", "exact; 5280 international feet")
