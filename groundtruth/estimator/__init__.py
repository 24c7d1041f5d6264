"""The measurement model: ground covered between two instants of a pass, and how sure that is."""

from .estimate import DayTravel, ground_covered
from .ground_factors import WEAVE, HeightLine, bow_factor, height_line, slope_factors
from .known_lengths import tape_doubt, with_known_lengths
from .pass_coordinates import Stretch, make_stretch
from .state_space import rough_variance
from .stop_edges import EDGE_STD_S, refined_stops

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
    "refined_stops",
    "rough_variance",
    "slope_factors",
    "tape_doubt",
    "with_known_lengths",
]
