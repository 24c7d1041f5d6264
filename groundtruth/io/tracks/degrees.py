"""Written latitudes and longitudes to decimal degrees: "48,7", "48°42.205'N", "W 7 6 12"."""

from __future__ import annotations

import re

from ...core.language import English

_PART = r"(\d{1,3}(?:[.,]\d{1,17})?)"
_ANGLE = re.compile(
    rf"([NSEWO+-])?\s*{_PART}\s*[°ºd]?(?:\s*{_PART}\s*['′’m]?(?:\s*{_PART}\s*(?:[\"″”]|''|s)?)?)?"
    r"\s*([NSEWO])?",
    re.I | re.A,
)
WRITTEN = English("position in degrees and minutes, or with a letter, read")
"""The notice of every reader that had to use `parse_degrees`."""
COMMA = English("decimal comma in a position read as a point")


def parse_degrees(text: str) -> float:
    """Decimal degrees; south and west are negative.

    Raises
    ------
    ValueError : it writes no angle, or minutes or seconds reach 60.
    """
    text = text.strip().replace("−", "-")
    match = _ANGLE.fullmatch(text)
    if not match or len(text) > 60:
        raise ValueError(text)
    before, degrees, minutes, seconds, after = match.groups()
    signs = [mark.upper() for mark in (before, after) if mark]
    if len(signs) > 1:
        raise ValueError(text)
    parts = [float(part.replace(",", ".")) if part else 0.0 for part in (minutes, seconds)]
    if max(parts) >= 60 or (minutes and not float(degrees.replace(",", ".")).is_integer()):
        raise ValueError(text)
    value = float(degrees.replace(",", ".")) + parts[0] / 60 + parts[1] / 3600
    return -value if signs and signs[0] in "SW-" else value
