"""A shape of a grower's own map as it was found in the file."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ..core.beds import LonLat


class ShapeRefusal(ValueError):
    """Why a map cannot be used, in words that follow its name."""


@dataclass(frozen=True, slots=True)
class FoundShape:
    """A line, an outline or a point of (longitude, latitude), with its name."""

    name: str
    kind: Literal["line", "area", "point"]
    places: tuple[LonLat, ...]

    @property
    def is_area(self) -> bool:
        """Whether it is an outline."""
        return self.kind == "area"

    @property
    def is_point(self) -> bool:
        """Whether it is a single place."""
        return self.kind == "point"
