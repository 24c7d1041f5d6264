"""JSON from anywhere, parsed only where it fits into memory."""

from __future__ import annotations

import json
from typing import Any, NoReturn

MAX_MEMORY = 1 << 30
_OBJECT, _LIST, _VALUE, _TEXT = 340, 90, 40, 50
"""Bytes that CPython 3.11 to 3.13 takes for an object with a key, a list, a number in it, a text
beyond its characters, measured with sys.getsizeof."""


def memory_of(data: bytes) -> int:
    """About how many bytes the values of a JSON text take, from above, without parsing it."""
    return (
        2 * len(data)
        + _OBJECT * data.count(b"{")
        + _LIST * data.count(b"[")
        + _VALUE * data.count(b",")
        + _TEXT * (data.count(b'"') // 2)
    )


def parse_json(text: str) -> Any:
    """The value of a JSON text [RFC 8259]; NaN and infinities, which it does not know, refused.

    Raises
    ------
    ValueError : it is no JSON, is nested too deeply, or holds a number of thousands of digits.
    """
    try:
        return json.loads(text, parse_constant=_no_constant)
    except RecursionError:
        raise ValueError("nested too deeply") from None


def _no_constant(constant: str) -> NoReturn:
    raise ValueError(f"{constant} is not a number that JSON knows")
