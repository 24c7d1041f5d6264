"""Constants with sources; reading and showing quantities as people write them.

Everything inside the package is SI; this room and the output modules are the only edge.
"""

from .constants import (
    ACRE,
    FOOT,
    HECTARE,
    HOUR,
    INCH,
    KM_PER_HOUR,
    KNOT,
    MILE,
    MILE_PER_HOUR,
    NAUTICAL_MILE,
    OUNCE,
    POUND,
    YARD,
    Constant,
)
from .formatting import (
    System,
    decimals_for,
    format_length,
    format_mass,
    format_measured,
    format_speed,
    length_unit,
    rounded,
    unit_factor,
)
from .parsing import parse_area, parse_length, parse_length_measured, parse_mass, parse_speed

__all__ = [
    "ACRE",
    "FOOT",
    "HECTARE",
    "HOUR",
    "INCH",
    "KM_PER_HOUR",
    "KNOT",
    "MILE",
    "MILE_PER_HOUR",
    "NAUTICAL_MILE",
    "OUNCE",
    "POUND",
    "YARD",
    "Constant",
    "System",
    "decimals_for",
    "format_length",
    "format_mass",
    "format_measured",
    "format_speed",
    "length_unit",
    "parse_area",
    "parse_length",
    "parse_length_measured",
    "parse_mass",
    "parse_speed",
    "rounded",
    "unit_factor",
]
