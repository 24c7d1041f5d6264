"""Words and plain numbers as people write them."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches
from itertools import combinations

_MOST_NAMES = 200


def nearest(word: str, known: list[str], likeness: float = 0.6) -> str:
    """The known word that is most like the written one, or "" if none is like it enough."""
    near = get_close_matches(word.lower(), known, n=1, cutoff=likeness)
    return near[0] if near else ""


def did_you_mean(word: str, known: list[str]) -> str:
    """ "; did you mean X?" for the nearest known word, or ""."""
    near = nearest(word, known)
    return f"; did you mean {near}?" if near else ""


def spelt_alike(names: Iterable[str]) -> tuple[tuple[str, str], ...]:
    """Pairs of names that differ by capitals, or by one letter where both have four or more.

    >>> spelt_alike(["beet", "Beet", "beets", "chard", "L1", "L2"])
    (('beet', 'Beet'), ('beet', 'beets'), ('Beet', 'beets'))
    """
    known = list(dict.fromkeys(names))[:_MOST_NAMES]
    return tuple((one, other) for one, other in combinations(known, 2) if _alike(one, other))


def _alike(one: str, other: str) -> bool:
    short, long = sorted((one.casefold(), other.casefold()), key=len)
    if short == long:
        return True
    if len(short) < 4 or len(long) - len(short) > 1:
        return False
    same = next(
        (i for i, (a, b) in enumerate(zip(short, long, strict=False)) if a != b), len(short)
    )
    rest = short[same:] if len(short) < len(long) else short[same + 1 :]
    odd = long[same] + (short[same] if len(short) == len(long) else "")
    return rest == long[same + 1 :] and odd.isalpha()


def number(text: str) -> float:
    """A plain decimal number with point or comma.

    Raises
    ------
    ValueError : it is none, or not finite.
    """
    text = text.strip().replace("−", "-")
    if "_" in text:
        raise ValueError(text)
    try:
        value = float(text)
    except ValueError:
        if text.count(",") != 1 or "." in text:
            raise
        value = float(text.replace(",", "."))
    if value - value != 0:
        raise ValueError(text)
    return value
