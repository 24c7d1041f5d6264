"""Values that no grower means, and the places where they can be typed."""

from __future__ import annotations

import argparse
import re
from collections.abc import Iterator
from dataclasses import dataclass
from unicodedata import category

NUMBERS = (
    "nan", "inf", "-inf", "1e400", "1e308", "1e-320", "-1", "0", "1" + 30 * "0", 400 * "9",
    5000 * "9", "1_000", "٣", "0x10", "1e", "--", "1/0", "½",
)  # fmt: skip
QUANTITIES = (
    "nan m", "inf m", "1e400 m", "1e308 m", "1e100 m", "1e-320 m", "-1 m", "0 m", "1 m ± 99.9999 %",
    "1 m ± 1e308 %", "1 m ± inf", "1e308 km/h", "1e308 kg", "1e308 kg/ha", "1e-320 kg/ha",
    "1e300 - 1e301", "1 m ± 5 mm ± 5 mm", 400 * "9" + " m", "1/" + 70 * "9" + " m",
)  # fmt: skip
TEXTS = (
    "", " ", "\udcff", "a\u202eb", "a\u2066b\u2069", "\x1b[31mred", "a\x00b", "a\r\nb", "=1+1",
    "\ufeff", 3000 * "a", "../../x", "\u2028",
)  # fmt: skip
DAYS = ("0001-01-01", "9999-12-31", "10000-01-01", "-001-01-01", "2026-02-30", "1e9", "2026-13-01")
ALL = (*NUMBERS, *QUANTITIES, *TEXTS, *DAYS)
FEW = ("nan", "1e400", "-1", "0", 400 * "9", "1 m ± 99.9999 %", "\udcff", "a\u202eb", "\x1b[31mred")
"""For options of commands that compute for a second."""
JSON = (
    "NaN", "Infinity", "-1", "0", "1e308", "-1e308", "1e400", "1" + 30 * "0", 400 * "9", "null",
    "true", '""', '"a\\u202eb"', '"\\udcff"', '"\\u001b[31m"', "[]", "{}", '"9999-12-31"',
    '"0001-01-01T00:00:00+14:00"', '"9999-12-31T23:59:59-14:00"', '"nan"',
)  # fmt: skip
TOML = (
    "nan", "-inf", "1e308", "1e-320", "-1", "0", "1" + 18 * "0", 400 * "9", "true", '""', "[]",
    "[[]]", "{}", "2026-05-12", "0001-01-01T00:00:00Z", "[nan, 1]", "[[1, 999999999999999999]]",
    '["\\u202e", "\\u001b"]', '"nan m"', '"1e308 m"', '"1e-320 m"', '"1 m ± 99.9999 %"',
    '"1 m ± 1e308 %"', '"a\\u202eb"', '"\\u001b[31mred"', '"-1 m"', '"1e100 m"',
    "[" * 60 + "]" * 60,
)  # fmt: skip

_RAW = {"Cc", "Cf", "Cs", "Zl", "Zp"}
_NO_FIGURE = re.compile(r"(?<![\w/.'])-?(?:nan|inf|infinity)(?![\w/.'])", re.I)


def raw_in(text: str) -> str:
    """The first character that must not reach a terminal or file as it is; "" for none."""
    return next((repr(c) for c in text if category(c) in _RAW and c != "\n"), "")


def no_figure_in(text: str) -> str:
    """The first figure that is none; "" where there is none."""
    found = _NO_FIGURE.search(text)
    return found[0] if found else ""


@dataclass(frozen=True)
class Place:
    """An option, or the ``index``-th positional argument, of a command."""

    command: tuple[str, ...]
    option: str
    name: str
    index: int
    values: int

    def __str__(self) -> str:
        return " ".join((*self.command, self.option or self.name))

    def call(self, usual: list[str], value: str) -> list[str]:
        """The command line with this value; ``usual`` is what the command is called with."""
        if self.option:
            typed = [f"{self.option}={value}"] if self.values == 1 else [self.option, value, value]
            at = usual.index(self.option) if self.option in usual else None
            rest = usual if at is None else usual[:at] + usual[at + 2 :]
            return [*self.command, *typed, *rest]
        return [*self.command, *usual[: self.index], value, *usual[self.index + 1 :]]


def places(parser: argparse.ArgumentParser, command: tuple[str, ...] = ()) -> Iterator[Place]:
    """Every option and argument of every command that takes a value, from the parser itself."""
    index = 0
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            for name, sub in action.choices.items():
                yield from places(sub, (*command, name))
        elif action.nargs != 0 and command:
            option = next((o for o in action.option_strings if o.startswith("--")), "")
            values = action.nargs if isinstance(action.nargs, int) else 1
            yield Place(command, option, action.dest, index, values)
            index += not option
