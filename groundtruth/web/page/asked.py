"""What the page asks, from JSON to values: each checked, none believed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from ...core.errors import InputError
from ...core.language import ENGLISH, LANGUAGES

if TYPE_CHECKING:
    from ...core.run import UnitSystem

MOST_TEXT = 400


def table(value: Any, what: str = "question") -> dict[str, Any]:
    """A JSON object.

    Raises
    ------
    InputError : it is something else. So do the functions below.
    """
    if not isinstance(value, dict):
        raise InputError(f"{what}: must be an object")
    return value


def text(of: dict[str, Any], key: str) -> str:
    """A text, "" where it is missing."""
    value = of.get(key, "")
    if not isinstance(value, str) or len(value) > MOST_TEXT:
        raise InputError(f"{key}: must be text of up to {MOST_TEXT} characters", column=key)
    return value


def flag(of: dict[str, Any], key: str) -> bool:
    """Whether something is ticked."""
    return of.get(key) is True


def whole_number(of: dict[str, Any], key: str) -> int:
    """A whole number from 0."""
    value = of.get(key)
    if type(value) is not int or not 0 <= value < 2**53:
        raise InputError(f"{key}: must be a whole number", column=key)
    return value


def list_of(of: dict[str, Any], key: str, most: int) -> Sequence[Any]:
    """A list, empty where it is missing."""
    value = of.get(key, [])
    if not isinstance(value, list) or len(value) > most:
        raise InputError(f"{key}: must be a list of up to {most}", column=key)
    return value


def texts(of: dict[str, Any], key: str, most: int) -> tuple[str, ...]:
    """A list of texts."""
    return tuple(text({key: one}, key) for one in list_of(of, key, most))


def shown_language(header: str) -> str:
    """The first language of an Accept-Language header that there is, else English [RFC 9110,
    12.5.4].

    >>> shown_language("de-AT, en;q=0.5"), shown_language("fi")
    ('de', 'en')
    """
    tags = (one.partition(";")[0].strip().lower() for one in header.split(","))
    return next((tag[:2] for tag in tags if tag.partition("-")[0] in LANGUAGES), ENGLISH)


def shown_units(of: dict[str, Any]) -> UnitSystem:
    """The units to show."""
    return "us" if of.get("units") == "us" else "metric"


def two_texts(of: dict[str, Any], key: str) -> tuple[str, str]:
    """A list of two texts."""
    found = texts(of, key, 2)
    if len(found) != 2:
        raise InputError(f"{key}: must be two texts", column=key)
    return found[0], found[1]


def tapped_place(value: Any) -> tuple[float, float]:
    """Longitude and latitude of a place, from [latitude, longitude] in degrees."""
    if isinstance(value, list) and [type(one) in (int, float) for one in value] == [True, True]:
        latitude, longitude = map(float, value)
        if abs(latitude) <= 90 and abs(longitude) <= 360:
            return longitude, latitude
    raise InputError("a place must be latitude and longitude")
