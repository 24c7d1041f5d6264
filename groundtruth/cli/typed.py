"""Numbers, words, days and shares as they are typed after an option.

The types are for argparse; each says in its error what is accepted.
"""

from __future__ import annotations

import argparse
import os
from datetime import date
from pathlib import Path
from typing import Any, NoReturn

from ..core.bounds import MOST_WHOLE, refuse_day
from ..core.errors import InputError
from ..core.safe_text import clean, visible
from ..core.written import number

MOST_WORDS = 2000
"""Characters of a typed name or note."""


def figure(text: str) -> float:
    """A plain number with point or comma, finite."""
    try:
        return number(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{visible(text, 40)!r} is no number") from None


def whole(text: str) -> int:
    """A whole number that fits 64 bits."""
    try:
        value = int(text) if len(text) < 40 and text.strip().lstrip("+-").isascii() else None
    except ValueError:
        value = None
    if value is None or "_" in text:
        raise argparse.ArgumentTypeError(f"{visible(text, 40)!r} is no whole number")
    if abs(value) > MOST_WHOLE:
        raise argparse.ArgumentTypeError(f"{visible(text, 40)} is more than any count")
    return value


def words(text: str) -> str:
    """A name, note or quantity, its controls and invisible characters made spaces."""
    if len(text) > MOST_WORDS:
        raise argparse.ArgumentTypeError(f"has {len(text)} characters; up to {MOST_WORDS}")
    return clean(text, MOST_WORDS)


def place(text: str) -> Path:
    """A file or folder, by a name that a system can hold."""
    longest = max((len(os.fsencode(part)) for part in Path(text).parts), default=0)
    if not text or "\0" in text or longest > 255 or len(text) > 4000:
        raise argparse.ArgumentTypeError(f"{visible(text, 40)!r} is no name of a file")
    return Path(text)


def place_of(text: str, option: str) -> Path:
    """As `place`, for what may be something else than a file.

    Raises
    ------
    InputError : no file can be called so.
    """
    try:
        return place(text)
    except argparse.ArgumentTypeError as why:
        raise InputError(f"{option}: {why}") from None


class Parser(argparse.ArgumentParser):
    """A parser whose options and arguments go through the types above, whoever adds them."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for plain, ours in ((None, words), (float, figure), (int, whole), (Path, place)):
            self.register("type", plain, ours)

    def error(self, message: str) -> NoReturn:
        """As argparse does, in words of a bearable length."""
        super().error(visible(message, 600))

    def add_subparsers(self, **kwargs: Any) -> Any:
        """Subcommands; their own arguments are handed on as they are."""
        action = super().add_subparsers(**kwargs)
        action.type = str
        return action

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        """As argparse does, which reads --option=-- as an empty list: that is refused here."""
        for given in args or ():
            option, mark, value = given.partition("=")
            if option.startswith("--") and mark and value == "--":
                self.error(f"argument {visible(option, 40)}: expected one argument")
        return super().parse_known_args(args, namespace)


def day_of(text: str, option: str) -> date:
    """A day written 2027-06-08."""
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise InputError(f"{option} {text!r} is no day; write it as 2027-06-08") from None
    refuse_day(option, day)
    return day


def share_of(text: str, option: str) -> float:
    """A percentage as people write it: "1 %", "±0,5%", "1"."""
    bare = text.replace("±", "").replace("+-", "").replace("%", "").strip()
    try:
        return number(bare) / 100
    except ValueError:
        raise InputError(f"{option}: {text!r} is no percentage; write it as in 1 %") from None
