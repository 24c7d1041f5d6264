"""Show quantities: a unit that suits the size, and digits that the uncertainty allows."""

from __future__ import annotations

from math import floor, isfinite, log10
from typing import Literal

from ..language import decimals, fixed
from ..measured import Measured
from .constants import AREA, FOOT, INCH, LENGTH, MASS, MILE, POUND, PRESSURE, SPEED

System = Literal["metric", "us"]
"""What people are shown; the same words as `run.UnitSystem`."""


_SHOWN_UNITS = {
    **LENGTH.factors,
    **SPEED.factors,
    **MASS.factors,
    **PRESSURE.factors,
    **AREA.factors,
    "%": 0.01,
    "": 1.0,
}


def unit_factor(unit: str) -> float:
    """SI value of one ``unit`` of any kind the tool knows ("in", "km/h", "g", "ha", "%").

    >>> unit_factor("in")
    0.0254

    Raises
    ------
    KeyError : the unit is not known; the caller names units, not a person.
    """
    return _SHOWN_UNITS[unit]


def decimals_for(std: float) -> int:
    """Decimal places that show ``std`` with two significant digits; negative for tens, hundreds.

    Two digits of the uncertainty, the value to the same place [JCGM 100:2008, 7.2.6].

    >>> decimals_for(0.0071)
    4
    """
    places = 1 - floor(log10(std))
    # 0.0996 rounds up to 0.100, whose two digits are 0.10
    if round(std * 10.0**places) >= 100:
        places -= 1
    return places


def rounded(measured: Measured, unit: str = "") -> tuple[str, str]:
    """Value and standard uncertainty as text in ``unit``, rounded by two digits of the latter.

    An exact value is shown with four significant digits and the uncertainty "0".

    >>> rounded(Measured(0.6342, 0.0071), "cm")
    ('63.42', '0.71')
    """
    factor = unit_factor(unit)
    value, std = measured.value / factor, measured.std / factor
    if std == 0:
        return _significant(value, 4), "0"
    places = decimals_for(std)
    shown = max(places, 0)
    return f"{round(value, places):.{shown}f}", f"{round(std, places):.{shown}f}"


def format_measured(measured: Measured, unit: str) -> str:
    """Value ± one standard uncertainty in a unit, rounded by the latter.

    >>> format_measured(Measured(0.6342, 0.0071), "cm")
    '63.42 ± 0.71 cm'
    """
    value, std = map(decimals, rounded(measured, unit))
    tail = f" {unit}" if unit else ""
    return f"{value}{tail}" if std == "0" else f"{value} ± {std}{tail}"


def length_unit(metres: float, system: System) -> str:
    """The unit in which a length of this size is shown: cm below 1 m, in below 10 ft, …

    >>> length_unit(0.78, "metric"), length_unit(0.78, "us")
    ('cm', 'in')
    """
    size = abs(metres)
    if system == "us":
        return "in" if size < 10 * FOOT.value else "ft" if size < MILE.value else "mi"
    return "cm" if size < 1 else "m" if size < 1000 else "km"


def format_length(metres: float, system: System) -> str:
    """A length for reading, in the unit that suits its size.

    >>> format_length(46.4058, "metric"), format_length(46.4058, "us")
    ('46.41 m', '152 ft 3 in')
    """
    unit = length_unit(metres, system)
    value = metres / unit_factor(unit)
    if unit != "ft":
        places = {"cm": 1, "m": 2, "km": 3, "in": 2, "mi": 2}[unit]
        return f"{decimals(f'{value:.{places}f}')} {unit}"
    inches = round(abs(metres) / INCH.value)
    sign = "-" if metres < 0 else ""
    return f"{sign}{inches // 12} ft {inches % 12} in"


def format_speed(metres_per_second: float, system: System) -> str:
    """A speed for reading.

    >>> format_speed(1.25, "metric"), format_speed(1.25, "us")
    ('4.5 km/h', '2.8 mph')
    """
    unit = "mph" if system == "us" else "km/h"
    return f"{decimals(fixed(metres_per_second / unit_factor(unit), 1))} {unit}"


def format_mass(kilograms: float, system: System) -> str:
    """A mass for reading: grams below 1 kg, ounces below 1 lb.

    >>> format_mass(0.0271, "metric"), format_mass(0.5669904625, "us")
    ('27.1 g', '1.25 lb')
    """
    if system == "us":
        unit = "oz" if abs(kilograms) < POUND.value else "lb"
    else:
        unit = "g" if abs(kilograms) < 1 else "kg"
    return f"{decimals(_significant(kilograms / unit_factor(unit), 4))} {unit}"


def format_pressure(pascals: float, system: System) -> str:
    """A tyre's pressure for reading.

    >>> format_pressure(120_000.0, "metric"), format_pressure(124_105.6, "us")
    ('1.2 bar', '18 psi')
    """
    unit = "psi" if system == "us" else "bar"
    return f"{decimals(_significant(pascals / unit_factor(unit), 3))} {unit}"


def _significant(value: float, digits: int) -> str:
    if value == 0 or not isfinite(value):
        return f"{value:g}"
    places = max(0, digits - 1 - floor(log10(abs(value))))
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
