"""Days, shares and lists as they are typed after an option."""

from __future__ import annotations

from datetime import date

from ..core.errors import InputError


def day_of(text: str, option: str) -> date:
    """A day written 2027-06-08."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise InputError(f"{option} {text!r} is no day; write it as 2027-06-08") from None


def share_of(text: str, option: str) -> float:
    """A percentage as people write it: "1 %", "±0,5%", "1"."""
    bare = text.replace("±", "").replace("+-", "").replace("%", "").replace(",", ".").strip()
    try:
        return float(bare) / 100
    except ValueError:
        raise InputError(f"{option}: {text!r} is no percentage; write it as in 1 %") from None
