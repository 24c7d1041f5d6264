"""What stands behind the maps: field outlines, paths and buildings, as values."""

from __future__ import annotations

from dataclasses import dataclass

from .beds import LonLat
from .notices import Notice
from .track import InputFile


@dataclass(frozen=True, slots=True, kw_only=True)
class BackdropShape:
    """A line, or an area by its outline, of (longitude, latitude) in degrees; perhaps a name.

    The outline of an area ends where it began.
    """

    name: str
    is_area: bool
    places: tuple[LonLat, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Backdrop:
    """The shapes of a grower's own map, the file that they come from, and what was left out."""

    shapes: tuple[BackdropShape, ...]
    file: InputFile
    notices: tuple[Notice, ...] = ()
