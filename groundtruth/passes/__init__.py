"""Find the straight working passes of a day, and say how their ends were found."""

from .contract import EndFound, Pass, PassEnd
from .find import find_passes

__all__ = ["EndFound", "Pass", "PassEnd", "find_passes"]
