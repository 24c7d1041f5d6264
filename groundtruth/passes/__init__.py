"""Find the straight working passes of a day, and say how their ends were found."""

from .find import find_passes
from .types import EndFound, Pass, PassEnd

__all__ = ["EndFound", "Pass", "PassEnd", "find_passes"]
