"""The measurement model: ground covered between two instants of a pass, and how sure that is."""

from .day import DayTravel, ground_covered
from .edges import EDGE_STD_S, settled_stops
from .ground import WEAVE, HeightLine, bow_factor, height_line, slope_factors
from .known import with_known_lengths
from .stretch import Stretch, make_stretch

__all__ = [
    "EDGE_STD_S",
    "WEAVE",
    "DayTravel",
    "HeightLine",
    "Stretch",
    "bow_factor",
    "ground_covered",
    "height_line",
    "make_stretch",
    "settled_stops",
    "slope_factors",
    "with_known_lengths",
]
