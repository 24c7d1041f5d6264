"""The measurement model: ground covered between two instants of a pass, and how sure that is."""

from .day import DayTravel, ground_covered
from .stretch import Stretch, make_stretch

__all__ = ["DayTravel", "Stretch", "ground_covered", "make_stretch"]
