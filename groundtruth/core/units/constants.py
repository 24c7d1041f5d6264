"""Units as exact numbers, each with its source, and the spellings under which people write them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple


class Constant(NamedTuple):
    """A number that must not exist without its unit and source."""

    value: float
    unit: str
    source: str


INCH = Constant(0.0254, "m", "exact; international yard and pound agreement, 1959")
FOOT = Constant(0.3048, "m", "exact; international yard and pound agreement, 1959")
YARD = Constant(0.9144, "m", "exact; international yard and pound agreement, 1959")
MILE = Constant(1609.344, "m", "exact; 5280 international feet")
POUND = Constant(0.45359237, "kg", "exact; international yard and pound agreement, 1959")
OUNCE = Constant(0.028349523125, "kg", "exact; 1/16 international pound")
HECTARE = Constant(10_000.0, "m²", "exact; SI Brochure, 9th ed. (2019), table 8")
ACRE = Constant(4046.8564224, "m²", "exact; 43 560 square international feet")
BAR = Constant(100_000.0, "Pa", "exact; NIST SP 811 (2008), appendix B.8 (from memory)")
PSI = Constant(
    POUND.value * 9.80665 / INCH.value**2,
    "Pa",
    "exact; pound-force (9.80665 m/s², CGPM 1901) on a square inch, NIST SP 811 (2008), B.8",
)
HOUR = Constant(3600.0, "s", "exact; SI Brochure, 9th ed. (2019), table 8")
NAUTICAL_MILE = Constant(1852.0, "m", "exact; First Int. Extraordinary Hydrographic Conf., 1929")
KNOT = Constant(NAUTICAL_MILE.value / HOUR.value, "m/s", "exact; one nautical mile an hour")
MILE_PER_HOUR = Constant(0.44704, "m/s", "exact; 1609.344 m / 3600 s")
KM_PER_HOUR = Constant(1 / 3.6, "m/s", "exact; 1000 m / 3600 s")


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of quantity: its written units and what to offer when they are not understood."""

    noun: str
    factors: dict[str, float]  # spelling → factor to SI
    accepted: str
    example: str


def _spell(*groups: tuple[float, str]) -> dict[str, float]:
    return {name: factor for factor, names in groups for name in names.split("|")}


LENGTH = Kind(
    "length",
    _spell(
        (1e-3, "mm|millimetre|millimetres|millimeter|millimeters"),
        (1e-2, "cm|centimetre|centimetres|centimeter|centimeters"),
        (1e-1, "dm|decimetre|decimetres|decimeter|decimeters"),
        (1.0, "m|metre|metres|meter|meters"),
        (1e3, "km|kilometre|kilometres|kilometer|kilometers"),
        (INCH.value, 'in|in.|inch|inches|"'),
        (FOOT.value, "ft|ft.|foot|feet|'"),
        (YARD.value, "yd|yd.|yds|yard|yards"),
        (MILE.value, "mi|mi.|mile|miles"),
    ),
    "mm, cm, m, km, in, ft, yd, mi",
    "61 cm or 25 1/2 in",
)
SPEED = Kind(
    "speed",
    _spell(
        (1.0, "m/s"),
        (KM_PER_HOUR.value, "km/h|kmh|kph|kmph|km/hr"),
        (MILE_PER_HOUR.value, "mph|mi/h"),
        (FOOT.value, "ft/s|fps"),
        (KNOT.value, "kn|kt|kts|knot|knots"),
    ),
    "m/s, km/h, mph, ft/s, kn",
    "4.5 km/h or 2.8 mph",
)
MASS = Kind(
    "mass",
    _spell(
        (1e-6, "mg|milligram|milligrams"),
        (1e-3, "g|gram|grams|gramme|grammes"),
        (1.0, "kg|kilo|kilos|kilogram|kilograms"),
        (OUNCE.value, "oz|oz.|ounce|ounces"),
        (POUND.value, "lb|lb.|lbs|lbs.|pound|pounds"),
    ),
    "mg, g, kg, oz, lb",
    "250 g or 1 lb 4 oz",
)
PRESSURE = Kind(
    "pressure",
    _spell(
        (1.0, "Pa|pa|pascal|pascals"),
        (1e3, "kPa|kpa|kilopascal|kilopascals"),
        (BAR.value, "bar|bars"),
        (PSI.value, "psi|lb/in²|lb/in2|lbf/in²|lbf/in2"),
    ),
    "kPa, bar, psi",
    "1.2 bar or 18 psi",
)
AREA = Kind(
    "area",
    _spell(
        (1.0, "m²|m2|m^2|sq m|sqm|square metre|square metres|square meter|square meters"),
        (HECTARE.value, "ha|hectare|hectares"),
        (FOOT.value**2, "ft²|ft2|ft^2|sq ft|sq. ft.|sqft|square foot|square feet"),
        (YARD.value**2, "yd²|yd2|yd^2|sq yd|square yard|square yards"),
        (ACRE.value, "ac|ac.|acre|acres"),
    ),
    "m², ha, sq ft, ac",
    "0.4 ha or 1 acre",
)
