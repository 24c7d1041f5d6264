"""Values taken out of a JSON document by type; what is something else is refused in one line."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any, NoReturn, TypeGuard, TypeVar, cast

from ...core.bounds import MOST_NUMBER, MOST_WHOLE
from ...core.errors import InputError
from ...core.measured import Measured
from ...core.safe_text import clean, plain, visible

EARLIEST_S, LATEST_S = 0.0, 4_102_444_800.0
"""1970 to 2100."""
T = TypeVar("T")
W = TypeVar("W", bound=str)
E = TypeVar("E", bound=StrEnum)


@dataclass(frozen=True, slots=True, kw_only=True)
class JsonNode:
    """A JSON object whose keys are taken out by type; what is missing or something else is refused.

    Errors name the ``file`` and the ``path`` to the object in it ("passes, entry 3: ends").
    """

    data: dict[str, Any]
    file: str
    path: str = ""

    def refuse(self, key: str, wanted: str) -> NoReturn:
        """Raise for a key that is missing or is not as wanted."""
        if key not in self.data:
            raise self.error(f"{key} is missing", key)
        found = visible(json.dumps(self.data[key]), 40)
        raise self.error(f"{key} is {found}; it should be {wanted}", key, found)

    def error(self, reason: str, key: str = "", cell: str = "") -> InputError:
        """The refusal of this object, or of what stands under one of its keys."""
        where = f"{self.path}: " if self.path else ""
        return InputError(where + reason, file=self.file, column=key, cell=cell)

    def _inside(self, data: dict[str, Any], step: str) -> JsonNode:
        path = f"{self.path}: {step}" if self.path else step
        return JsonNode(data=data, file=self.file, path=path)

    def text(self, key: str) -> str:
        value = self.data.get(key)
        return plain(value) if _is_text(value) else self.refuse(key, "text")

    def texts(self, key: str) -> tuple[str, ...]:
        value = self.data.get(key)
        if not isinstance(value, list) or not all(_is_text(one) for one in value):
            self.refuse(key, "a list of texts")
        return tuple(map(plain, value))

    def name_if_there(self, key: str) -> str:
        """A name in one line of bounded length, "" where the key is missing."""
        return clean(self.text(key)) if key in self.data else ""

    def number_if_there(self, key: str) -> float | None:
        return None if self.data.get(key) is None else self.number(key)

    def word_if_there(self, key: str, words: tuple[W, ...]) -> W | None:
        """One of the words, None where the key is missing or null."""
        if self.data.get(key) is None:
            return None
        return self.word(key, words)

    def word(self, key: str, words: tuple[W, ...]) -> W:
        """One of the words, as what it is among them."""
        word = self.one_of(key, words)
        return next(known for known in words if known == word)

    def one_of(self, key: str, words: tuple[str, ...]) -> str:
        value = self.data.get(key)
        known = isinstance(value, str) and value in words
        return str(value) if known else self.refuse(key, " or ".join(words))

    def member(self, key: str, of: type[E]) -> E:
        value = self.data.get(key)
        if not isinstance(value, str) or value not in tuple(of):
            self.refuse(key, "one of those listed in docs/result-json.md")
        return of(value)

    def truth(self, key: str) -> bool:
        value = self.data.get(key)
        return value if isinstance(value, bool) else self.refuse(key, "true or false")

    def whole(self, key: str) -> int:
        value = self.data.get(key)
        return value if _is_whole(value) else self.refuse(key, "a whole number")

    def wholes(self, key: str) -> tuple[int, ...]:
        value = self.data.get(key)
        if not isinstance(value, list) or not all(map(_is_whole, value)):
            self.refuse(key, "a list of whole numbers")
        return tuple(value)

    def number(self, key: str) -> float:
        value = _as_number(self.data.get(key))
        return value if value is not None else self.refuse(key, "a number")

    def numbers(self, key: str) -> tuple[float, ...]:
        value = _as_numbers(self.data.get(key))
        return value if value is not None else self.refuse(key, "a list of numbers")

    def two(self, key: str) -> tuple[float, float]:
        value = _as_numbers(self.data.get(key))
        if value is None or len(value) != 2:
            self.refuse(key, "two numbers")
        return value[0], value[1]

    def pairs(self, key: str) -> tuple[tuple[float, float], ...]:
        value = self.data.get(key)
        found = [_as_numbers(pair) for pair in value] if isinstance(value, list) else [None]
        if any(pair is None or len(pair) != 2 for pair in found):
            self.refuse(key, "a list of pairs of longitude and latitude")
        return cast(tuple[tuple[float, float], ...], tuple(found))

    def instant_s(self, key: str) -> float:
        try:
            instant = datetime.fromisoformat(self.text(key))
        except ValueError:
            self.refuse(key, "an instant such as 2026-05-12T06:41:07Z")
        if instant.tzinfo is None:
            self.refuse(key, "an instant with its zone, such as 2026-05-12T06:41:07Z")
        if not EARLIEST_S <= instant.timestamp() <= LATEST_S:
            self.refuse(key, "an instant between 1970 and 2100")
        return instant.timestamp()

    def measured(self, name: str, unit: str = "") -> Measured:
        std = self.number(f"{name}_u{unit}")
        if std < 0:
            self.refuse(f"{name}_u{unit}", "0 or more")
        return Measured(self.number(f"{name}{unit}"), std)

    def share(self, name: str) -> Measured:
        """A share, exact where its uncertainty was not written yet."""
        return self.measured(name) if f"{name}_u" in self.data else Measured(self.number(name))

    def maybe(self, key: str, read: Callable[[], T]) -> T | None:
        """What ``read`` gives, None where the key is there and null."""
        if key not in self.data:
            self.refuse(key, "there")
        return None if self.data[key] is None else read()

    def child(self, key: str) -> JsonNode:
        value = self.data.get(key)
        data = value if isinstance(value, dict) else self.refuse(key, "an object")
        return self._inside(data, key)

    def children(self, key: str) -> Iterator[JsonNode]:
        value = self.data.get(key)
        if not (isinstance(value, list) and all(isinstance(entry, dict) for entry in value)):
            self.refuse(key, "a list of objects")
        for index, entry in enumerate(value, start=1):
            yield self._inside(entry, f"{key}, entry {index}")


def _is_text(value: object) -> TypeGuard[str]:
    """Whether it is text that can be written as UTF-8: JSON may hold half a character."""
    return isinstance(value, str) and not any("\ud800" <= char <= "\udfff" for char in value)


def _is_whole(value: object) -> TypeGuard[int]:
    """Whether it is a whole number of up to 64 bits."""
    return type(value) is int and abs(value) <= MOST_WHOLE


def _as_number(value: object) -> float | None:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    try:
        number = float(value)
    except OverflowError:  # a whole number of more than 308 digits
        return None
    return number if abs(number) <= MOST_NUMBER else None


def _as_numbers(value: object) -> tuple[float, ...] | None:
    if not isinstance(value, list):
        return None
    numbers = [_as_number(entry) for entry in value]
    if any(number is None for number in numbers):
        return None
    return cast(tuple[float, ...], tuple(numbers))
