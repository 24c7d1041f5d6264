"""Figures that are assumed where nothing was measured, used by more than one room."""

from __future__ import annotations

SPREAD_PRIOR = 0.02
"""Scale of the half-t prior of the relative spread between passes. Our choice: slip of dragged
wheels is a few per cent and changes by part of that from pass to pass on one morning."""


TAPE_HALF_WIDTH_M = 0.2
"""Limits of a taped length of one bed: tape, its ends and the start of the wheel's turning."""


EACH_TURN_STD = 0.05
"""Error of the part of a turn between two instants of whole turns, standard deviation, turns."""
