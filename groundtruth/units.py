"""Constants with sources; reading and showing quantities as people write them.

Everything inside the package is SI; this module and the output modules are the only edge.

A written plus-minus ("1.92 m ± 5 mm") is read as a limit: the true value lies anywhere within it
with equal chance, so the standard uncertainty is the half-width over √3 [JCGM 100:2008, 4.3.7].
That is how people with a tape measure mean it. A standard uncertainty is never written by hand.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from difflib import get_close_matches
from math import floor, isfinite, log10
from typing import Literal, NamedTuple
from unicodedata import normalize

from .errors import QuantityError
from .measured import Measured, rectangular_std


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
HOUR = Constant(3600.0, "s", "exact; SI Brochure, 9th ed. (2019), table 8")
NAUTICAL_MILE = Constant(1852.0, "m", "exact; First Int. Extraordinary Hydrographic Conf., 1929")
KNOT = Constant(1852.0 / 3600.0, "m/s", "exact; one nautical mile an hour")
MILE_PER_HOUR = Constant(0.44704, "m/s", "exact; 1609.344 m / 3600 s")
KM_PER_HOUR = Constant(1 / 3.6, "m/s", "exact; 1000 m / 3600 s")

System = Literal["metric", "us"]
"""What people are shown; the same words as `run.UnitSystem`."""


@dataclass(frozen=True, slots=True)
class _Kind:
    """One kind of quantity: its written units and what to offer when they are not understood."""

    noun: str
    factors: dict[str, float]  # spelling → factor to SI
    accepted: str
    example: str
    case_matters: bool = False


def _spell(*groups: tuple[float, str]) -> dict[str, float]:
    return {name: factor for factor, names in groups for name in names.split("|")}


_LENGTH = _Kind(
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
_SPEED = _Kind(
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
_MASS = _Kind(
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
_AREA = _Kind(
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

_MARKS = str.maketrans(
    {
        **dict.fromkeys("′’‘´`ʹʼ", "'"),
        **dict.fromkeys("″”“„ʺ", '"'),
        **dict.fromkeys("−–—‐‑‒", "-"),
        **dict.fromkeys("\u00a0\u2007\u2009\u200a\u202f\u2002\u2003\t", " "),
        **dict.fromkeys("\u200b\ufeff", ""),
        "⁄": "/",
        "٫": ".",
    }
)
_PLUS_MINUS = re.compile(r"±|\+\s*/?\s*-")
_WHOLE = r"\d+(?:[.,]\d+)?|[.,]\d+"
_NUMBER = re.compile(rf"(?:(\d+)[\s-]+)?(\d+)\s*/\s*(\d+)|({_WHOLE})(?:[eE]([+-]?\d+))?")
_UNIT = re.compile(r"\s*(''|\"|'|[^\W\d_][^\d+±'\"]*)?\s*")
_LONGEST = 80  # characters; no honest quantity is longer


def _fail(what: str, text: str, why: str) -> QuantityError:
    shown = text if len(text) <= _LONGEST else text[:_LONGEST] + "…"
    return QuantityError(f"{what}: {shown!r} {why}")


def _tidy(text: str) -> str:
    """Typographic marks to plain ones; "25½" to "25 1/2"."""
    out = []
    for char in text.translate(_MARKS):
        plain = normalize("NFKC", char) if not char.isascii() and char.isnumeric() else char
        out.append(f" {plain.replace('⁄', '/')} " if "⁄" in plain else plain)
    return re.sub(r"\s+", " ", "".join(out).replace("''", '"')).strip()


def _number(match: re.Match[str], kind: _Kind, what: str, text: str) -> float:
    whole, over, under, decimal, power = match.groups()
    if decimal is None:
        if int(under) == 0:
            raise _fail(what, text, "divides by 0")
        return float(whole or 0) + int(over) / int(under)
    comma = re.fullmatch(r"([1-9]\d{0,2}),(\d{3})", decimal)
    if comma:
        both = f"{comma[1]}{comma[2]}", f"{comma[1]}.{comma[2]}"
        raise _fail(
            what, text, f"can be read in two ways; write {both[0]} or {both[1]} with the unit"
        )
    value = float(decimal.replace(",", "."))
    return value * 10.0 ** int(power) if power and abs(int(power)) < 100 else value


def _factor(unit: str, kind: _Kind, what: str, text: str) -> float:
    name = re.sub(r"\s+", " ", unit).strip().rstrip(",;")
    for spelling in (name, name.lower()):
        if spelling in kind.factors:
            return kind.factors[spelling]
    near = get_close_matches(name.lower(), list(kind.factors), n=3, cutoff=0.5)
    near.sort(key=lambda known: known[0] != name[:1].lower())  # "cn" means cm, hardly in
    hint = f"; did you mean {near[0]}?" if near else ""
    raise _fail(what, text, f"has the unit {name!r}, not known{hint} Accepted: {kind.accepted}")


def _terms(text: str, kind: _Kind, what: str) -> list[tuple[float, str]]:
    """(number, written unit) pairs; the unit is "" where none is written."""
    plain = _tidy(text)
    if not plain:
        raise _fail(what, text, f"is empty; write for example {kind.example}")
    if len(plain) > _LONGEST:
        raise _fail(what, text, f"is too long; write for example {kind.example}")
    terms, at = [], 0
    while at < len(plain):
        number = _NUMBER.match(plain, at)
        if not number:
            raise _fail(what, text, f"is no {kind.noun}; write for example {kind.example}")
        unit = _UNIT.match(plain, number.end())
        assert unit is not None  # every part of the pattern is optional
        terms.append((_number(number, kind, what, text), (unit[1] or "").strip()))
        at = unit.end()
    return terms


def _parse(
    text: str, kind: _Kind, what: str, *, above_zero: bool, unit_if_bare: str = ""
) -> tuple[float, str]:
    """Value in SI and the last unit written."""
    if not isinstance(text, str):
        raise QuantityError(
            f"{what}: {text!r} has no unit; write it in quotes with one, for example {kind.example}"
        )
    body, sign = text, 1.0
    stripped = _tidy(text)
    if stripped[:1] in "+-" and stripped:
        sign = -1.0 if stripped[0] == "-" else 1.0
        body = stripped[1:]
    terms = _terms(body, kind, what)
    if len(terms) == 1 and not terms[0][1]:
        if not unit_if_bare:
            raise _fail(
                what,
                text,
                f"has no unit; write for example {kind.example} (accepted: {kind.accepted})",
            )
        terms = [(terms[0][0], unit_if_bare)]
    total, last = 0.0, float("inf")
    for place, (number, unit) in enumerate(terms):
        if not unit and place and last == FOOT.value and kind is _LENGTH:
            unit = "in"  # 5' 6 is five foot six
        if not unit:
            raise _fail(what, text, f"has a number without unit (accepted: {kind.accepted})")
        factor = _factor(unit, kind, what, text)
        if factor >= last or (place and number * factor >= last * (1 + 1e-9)):
            raise _fail(what, text, "mixes units in an order that cannot be read")
        total, last = total + number * factor, factor
    value = sign * total
    if not isfinite(value):
        raise _fail(what, text, "is too large")
    if above_zero and not value > 0:
        raise _fail(what, text, "must be above 0")
    return value, terms[-1][1]


def parse_length(text: str, *, what: str = "length", above_zero: bool = False) -> float:
    """A written length ("25 1/2 in", "2' 1½\\"", "61cm", "0,61 m") in metres. [m]

    Raises
    ------
    QuantityError : it cannot be read, carries no unit, or is not above 0 where that is asked.
    """
    return _parse(text, _LENGTH, what, above_zero=above_zero)[0]


def parse_speed(text: str, *, what: str = "speed", above_zero: bool = False) -> float:
    """A written speed ("2.8 mph", "4,5 km/h") in metres per second. [m/s]"""
    return _parse(text, _SPEED, what, above_zero=above_zero)[0]


def parse_mass(text: str, *, what: str = "mass", above_zero: bool = False) -> float:
    """A written mass ("250 g", "1 lb 4 oz") in kilograms. [kg]"""
    return _parse(text, _MASS, what, above_zero=above_zero)[0]


def parse_area(text: str, *, what: str = "area", above_zero: bool = False) -> float:
    """A written area ("0.4 ha", "1/2 acre") in square metres. [m²]"""
    return _parse(text, _AREA, what, above_zero=above_zero)[0]


def parse_length_measured(text: str, *, what: str = "length") -> Measured:
    """A written length above 0 that may carry its limits ("1.92 m ± 5 mm", "76 in +/- 1/8"). [m]

    The limits are the half-width of an even spread: u = a/√3 [JCGM 100:2008, 4.3.7]. Without
    limits the standard uncertainty is 0. A limit without unit takes the unit of the value, and a
    value without unit that of the limit; "± 0.5 %" is a share of the value.

    Raises
    ------
    QuantityError : it cannot be read, is not above 0, or its limits reach the value itself.
    """
    if not isinstance(text, str):
        return Measured(_parse(text, _LENGTH, what, above_zero=True)[0])
    parts = _PLUS_MINUS.split(text.translate(_MARKS))
    if len(parts) > 2:
        raise _fail(what, text, "has more than one plus-minus")
    if len(parts) == 1:
        return Measured(parse_length(text, what=what, above_zero=True))
    written, limit_text = (part.strip() for part in parts)
    if limit_text.endswith("%"):
        value = parse_length(written, what=what, above_zero=True)
        share = _NUMBER.fullmatch(limit_text[:-1].strip())
        if not share:
            raise _fail(what, text, "has limits that cannot be read; write for example ± 5 mm")
        limit = value * _number(share, _LENGTH, what, text) / 100
    else:
        bare = bool(_NUMBER.fullmatch(_tidy(written)))
        if bare:
            limit, unit = _parse(limit_text, _LENGTH, what, above_zero=False)
            value = _parse(written, _LENGTH, what, above_zero=True, unit_if_bare=unit)[0]
        else:
            value, unit = _parse(written, _LENGTH, what, above_zero=True)
            limit = _parse(limit_text, _LENGTH, what, above_zero=False, unit_if_bare=unit)[0]
    if limit < 0:
        raise _fail(what, text, "has limits below 0; write for example ± 5 mm")
    if limit >= value:
        raise _fail(what, text, "has limits as large as the value itself")
    return Measured(value, rectangular_std(limit))


_SHOWN_UNITS = {
    **_LENGTH.factors,
    **_SPEED.factors,
    **_MASS.factors,
    **_AREA.factors,
    "%": 0.01,
    "": 1.0,
}


def unit_factor(unit: str) -> float:
    """SI value of one ``unit`` of any kind the tool knows ("in", "km/h", "g", "ha", "%").

    Raises
    ------
    KeyError : the unit is not known; the caller names units, not a person.
    """
    return _SHOWN_UNITS[unit]


def decimals_for(std: float) -> int:
    """Decimal places that show ``std`` with two significant digits; negative for tens, hundreds.

    Two digits of the uncertainty, the value to the same place [JCGM 100:2008, 7.2.6].
    """
    places = 1 - floor(log10(std))
    # 0.0996 rounds up to 0.100, whose two digits are 0.10
    if round(std * 10.0**places) >= 100:
        places -= 1
    return places


def rounded(measured: Measured, unit: str = "") -> tuple[str, str]:
    """Value and standard uncertainty as text in ``unit``, rounded by two digits of the latter.

    An exact value is shown with four significant digits and the uncertainty "0".
    """
    factor = unit_factor(unit)
    value, std = measured.value / factor, measured.std / factor
    if std == 0:
        return _significant(value, 4), "0"
    places = decimals_for(std)
    shown = max(places, 0)
    return f"{round(value, places):.{shown}f}", f"{round(std, places):.{shown}f}"


def format_measured(measured: Measured, unit: str) -> str:
    """ "63.42 ± 0.71 cm": value ± one standard uncertainty, rounded by the latter."""
    value, std = rounded(measured, unit)
    tail = f" {unit}" if unit else ""
    return f"{value}{tail}" if std == "0" else f"{value} ± {std}{tail}"


def length_unit(metres: float, system: System) -> str:
    """The unit in which a length of this size is shown: cm below 1 m, in below 10 ft, …"""
    size = abs(metres)
    if system == "us":
        return "in" if size < 10 * FOOT.value else "ft" if size < MILE.value else "mi"
    return "cm" if size < 1 else "m" if size < 1000 else "km"


def format_length_measured(measured: Measured, system: System) -> str:
    """A length with its standard uncertainty in the unit that suits its size."""
    return format_measured(measured, length_unit(measured.value, system))


def format_length(metres: float, system: System) -> str:
    """A length for reading: "63.5 cm", "152.40 m", "25.50 in", "152 ft 3 in", "1.25 mi"."""
    unit = length_unit(metres, system)
    value = metres / unit_factor(unit)
    if unit != "ft":
        return f"{value:.{ {'cm': 1, 'm': 2, 'km': 3, 'in': 2, 'mi': 2}[unit] }f} {unit}"
    inches = round(abs(metres) / INCH.value)
    sign = "-" if metres < 0 else ""
    return f"{sign}{inches // 12} ft {inches % 12} in"


def format_speed(metres_per_second: float, system: System) -> str:
    """A speed for reading: "4.5 km/h" or "2.8 mph"."""
    unit = "mph" if system == "us" else "km/h"
    return f"{metres_per_second / unit_factor(unit):.1f} {unit}"


def format_mass(kilograms: float, system: System) -> str:
    """A mass for reading: grams below 1 kg, ounces below 1 lb."""
    if system == "us":
        unit = "oz" if abs(kilograms) < POUND.value else "lb"
    else:
        unit = "g" if abs(kilograms) < 1 else "kg"
    return f"{_significant(kilograms / unit_factor(unit), 4)} {unit}"


def format_area(square_metres: float, system: System) -> str:
    """An area for reading: m² below 1000 m², sq ft below a tenth of an acre, else ha or acres."""
    if system == "us":
        unit = "sq ft" if abs(square_metres) < ACRE.value / 10 else "ac"
    else:
        unit = "m²" if abs(square_metres) < 1000 else "ha"
    return f"{_significant(square_metres / unit_factor(unit), 4)} {unit}"


def _significant(value: float, digits: int) -> str:
    if value == 0 or not isfinite(value):
        return f"{value:g}"
    places = max(0, digits - 1 - floor(log10(abs(value))))
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
