"""The background as the map's script is given it."""

from __future__ import annotations

from typing import Any

from ...core.backdrop import Backdrop
from ...core.safe_text import visible
from .drawing import LonLat, packed

_NAME = 40


def backdrop_data(backdrop: Backdrop | None, origin: LonLat) -> list[dict[str, Any]]:
    """Each shape with its name and places; none where there is no background."""
    return [
        {
            "name": visible(one.name, _NAME),
            "area": one.is_area,
            "at": packed(list(one.places), origin),
        }
        for one in (backdrop.shapes if backdrop else ())
    ]
