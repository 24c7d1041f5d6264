"""Words and plain numbers as people write them."""

from __future__ import annotations

from difflib import get_close_matches


def nearest(word: str, known: list[str], likeness: float = 0.6) -> str:
    """The known word that is most like the written one, or "" if none is like it enough."""
    near = get_close_matches(word.lower(), known, n=1, cutoff=likeness)
    return near[0] if near else ""


def did_you_mean(word: str, known: list[str]) -> str:
    """ "; did you mean X?" for the nearest known word, or ""."""
    near = nearest(word, known)
    return f"; did you mean {near}?" if near else ""


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
