"""JSON from anywhere, parsed only where it fits into memory and into the parser's stack."""

from __future__ import annotations

import json
import re
from itertools import accumulate
from typing import Any, NoReturn

MAX_MEMORY = 1 << 30
_OBJECT, _LIST, _VALUE, _TEXT = 340, 90, 40, 50
"""Bytes that CPython 3.11 to 3.13 takes for an object with a key, a list, a number in it, a text
beyond its characters, measured with sys.getsizeof."""

MAX_DEPTH = 100
"""Of lists and objects within each other: GeoJSON needs ten. The stack of a Python that runs in a
browser is small, and the parser fills it without a word."""
_STEPS = {ord("["): 1, ord("{"): 1, ord("]"): -1, ord("}"): -1}
_NO_MARKS = bytes(set(range(256)) - set(b'[]{}"'))
_ESCAPED = re.compile(rb"\\.", re.DOTALL)


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
    if nested_too_deeply(text):
        raise ValueError("nested too deeply")
    return json.loads(text, parse_constant=_no_constant)


def nested_too_deeply(text: str) -> bool:
    """Whether lists and objects of a JSON text lie more than MAX_DEPTH within each other."""
    data = text.encode("utf-8", "surrogatepass")
    if data.count(b"[") + data.count(b"{") <= MAX_DEPTH:
        return False
    marks = _ESCAPED.sub(b"", data).translate(None, _NO_MARKS)
    outside_texts = b"".join(marks.split(b'"')[::2])
    return max(accumulate(map(_STEPS.__getitem__, outside_texts)), default=0) > MAX_DEPTH


def _no_constant(constant: str) -> NoReturn:
    raise ValueError(f"{constant} is not a number that JSON knows")
