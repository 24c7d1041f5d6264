"""Read quantities as people write them, to SI.

A written plus-minus ("1.92 m ± 5 mm") is read as a limit: the true value lies anywhere within it
with equal chance, so the standard uncertainty is the half-width over √3 [JCGM 100:2008, 4.3.7].
That is how people with a tape measure mean it. A standard uncertainty is never written by hand.
"""

from __future__ import annotations

import re
from difflib import get_close_matches
from math import isfinite
from unicodedata import normalize

from ..errors import QuantityError
from ..measured import Measured, rectangular_std
from .constants import AREA, FOOT, LENGTH, MASS, PRESSURE, SPEED, Kind

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
_UNIT = re.compile(r"\s*(''|\"|'|[^\W\d_][^\d+±'\"-]*)?(?:\s*-\s*(?=\d))?\s*")
_MOST_LIMIT = 0.5  # of the value: more says that nothing was measured
_LONGEST = 80  # characters; no honest quantity is longer


def _fail(what: str, text: str, why: str) -> QuantityError:
    shown = text if len(text) <= _LONGEST else text[:_LONGEST] + "…"
    return QuantityError(f"{what}: {shown!r} {why}", column=what, cell=text)


def _tidy(text: str) -> str:
    """Typographic marks to plain ones; "25½" to "25 1/2"."""
    out = []
    for char in text.translate(_MARKS):
        plain = normalize("NFKC", char) if not char.isascii() and char.isnumeric() else char
        out.append(f" {plain.replace('⁄', '/')} " if "⁄" in plain else plain)
    return re.sub(r"\s+", " ", "".join(out).replace("''", '"')).strip()


def _number(match: re.Match[str], kind: Kind, what: str, text: str) -> float:
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
    return float(decimal.replace(",", ".") + (f"e{power}" if power else ""))


def _factor(unit: str, kind: Kind, what: str, text: str) -> float:
    name = re.sub(r"\s+", " ", unit).strip().rstrip(",;")
    for spelling in (name, name.lower()):
        if spelling in kind.factors:
            return kind.factors[spelling]
    cutoff = 0.5 if len(name) <= 3 else 0.65
    near = get_close_matches(name.lower(), list(kind.factors), n=3, cutoff=cutoff)
    near.sort(key=lambda known: known[0] != name[:1].lower())  # "cn" means cm, hardly in
    hint = f"; did you mean {near[0]}? Accepted:" if near else "; accepted:"
    raise _fail(what, text, f"has the unit {name!r}, not known{hint} {kind.accepted}")


def _terms(text: str, kind: Kind, what: str) -> list[tuple[float, str]]:
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
    text: str, kind: Kind, what: str, *, above_zero: bool, unit_if_bare: str = ""
) -> tuple[float, str]:
    """Value in SI and the last unit written."""
    if not isinstance(text, str):
        raise QuantityError(
            f"{what}: {text!r} has no unit; write it in quotes with one, for example "
            f"{kind.example}",
            column=what,
            cell=str(text),
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
        if not unit and place and last == FOOT.value and kind is LENGTH:
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

    >>> parse_length("25 in"), parse_length("0,61 m")
    (0.635, 0.61)

    Raises
    ------
    QuantityError : it cannot be read, carries no unit, or is not above 0 where that is asked.
    """
    return _parse(text, LENGTH, what, above_zero=above_zero)[0]


def parse_speed(text: str, *, what: str = "speed", above_zero: bool = False) -> float:
    """A written speed ("2.8 mph", "4,5 km/h") in metres per second. [m/s]

    >>> parse_speed("4,5 km/h")
    1.25
    """
    return _parse(text, SPEED, what, above_zero=above_zero)[0]


def parse_mass(text: str, *, what: str = "mass", above_zero: bool = False) -> float:
    """A written mass ("250 g", "1 lb 4 oz") in kilograms. [kg]

    >>> parse_mass("250 g")
    0.25
    """
    return _parse(text, MASS, what, above_zero=above_zero)[0]


def parse_pressure(text: str, *, what: str = "pressure", above_zero: bool = False) -> float:
    """A written pressure ("1.2 bar", "18 psi", "120 kPa") in pascals. [Pa]

    >>> parse_pressure("1,2 bar")
    120000.0
    """
    return _parse(text, PRESSURE, what, above_zero=above_zero)[0]


def parse_area(text: str, *, what: str = "area", above_zero: bool = False) -> float:
    """A written area ("0.4 ha", "1/2 acre") in square metres. [m²]

    >>> parse_area("0.4 ha")
    4000.0
    """
    return _parse(text, AREA, what, above_zero=above_zero)[0]


def parse_length_measured(text: str, *, what: str = "length") -> Measured:
    """A written length above 0 that may carry its limits ("1.92 m ± 5 mm", "76 in +/- 1/8"). [m]

    The limits are the half-width of an even spread: u = a/√3 [JCGM 100:2008, 4.3.7]. Without
    limits the standard uncertainty is 0. A limit without unit takes the unit of the value, and a
    value without unit that of the limit; "± 0.5 %" is a share of the value.

    >>> wheel = parse_length_measured("1.92 m ± 6 mm")
    >>> wheel.value, round(wheel.std, 5)
    (1.92, 0.00346)

    Raises
    ------
    QuantityError : it cannot be read, is not above 0, or its limits reach the value itself.
    """
    if not isinstance(text, str):
        return Measured(_parse(text, LENGTH, what, above_zero=True)[0])
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
        limit = value * _number(share, LENGTH, what, text) / 100
    else:
        bare = bool(_NUMBER.fullmatch(_tidy(written)))
        if bare:
            limit, unit = _parse(limit_text, LENGTH, what, above_zero=False)
            value = _parse(written, LENGTH, what, above_zero=True, unit_if_bare=unit)[0]
        else:
            value, unit = _parse(written, LENGTH, what, above_zero=True)
            limit = _parse(limit_text, LENGTH, what, above_zero=False, unit_if_bare=unit)[0]
    if not isfinite(limit):
        raise _fail(what, text, "has limits that are too large")
    if limit < 0:
        raise _fail(what, text, "has limits below 0; write for example ± 5 mm")
    if limit >= value:
        raise _fail(what, text, "has limits as large as the value itself")
    if limit > _MOST_LIMIT * value:
        raise _fail(what, text, "has limits of more than half of the value; measure it again")
    return Measured(value, rectangular_std(limit))
