"""What a count that cannot be true was probably meant to be: the slips of a pen or a keyboard."""

from __future__ import annotations

from collections.abc import Iterator


def meant(written: float, low: float, high: float, before: float | None = None) -> float | None:
    """The count between ``low`` and ``high`` that one slip turns into ``written``, None for none.

    Digits swapped come first, then a digit lost, doubled or mistaken, then a counter that was not
    set back after ``before`` turns. Of several of a kind it is the one nearest to the middle.

    >>> meant(39, 92, 94)
    93.0
    >>> meant(993, 92, 94)
    93.0
    >>> meant(70, 92, 94) is None
    True
    """
    middle = (low + high) / 2
    digits = f"{written:g}"
    if "e" in digits:
        return None
    for slips in (_swapped, _lost, _typed_twice, _mistaken):
        fits = [v for v in map(_number, slips(digits)) if v is not None and low <= v <= high]
        if fits:
            return min(fits, key=lambda v: abs(v - middle))
    if before is not None and low <= written - before <= high:
        return written - before
    return None


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


def _swapped(digits: str) -> Iterator[str]:
    for i in range(len(digits) - 1):
        yield digits[:i] + digits[i + 1] + digits[i] + digits[i + 2 :]


def _lost(digits: str) -> Iterator[str]:
    for i in range(len(digits) + 1):
        for d in "0123456789":
            yield digits[:i] + d + digits[i:]


def _typed_twice(digits: str) -> Iterator[str]:
    for i in range(len(digits)):
        yield digits[:i] + digits[i + 1 :]


def _mistaken(digits: str) -> Iterator[str]:
    for i, old in enumerate(digits):
        if old.isdigit():
            for d in "0123456789":
                yield digits[:i] + d + digits[i + 1 :]
