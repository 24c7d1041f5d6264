"""Settings are labels in an order that the seeder's description gives: holes, steps, inserts."""

from __future__ import annotations

from collections.abc import Sequence
from difflib import get_close_matches
from itertools import pairwise

from ..core.errors import SeederError
from ..core.safe_text import clean
from ..core.written import number


def settings_in_order(used: Sequence[str], declared: Sequence[str] = ()) -> tuple[str, ...]:
    """The order of the settings from fewest to most seeds.

    ``declared`` is the order in the seeder's description, all settings it has. Without one,
    settings that are all plain numbers are ordered as numbers; then only those used are known.

    >>> settings_in_order(["10", "9.5", "9"])
    ('9', '9.5', '10')

    Raises
    ------
    SeederError : a setting used is not in the order, the order holds one twice, or there is no
        order and the settings are no numbers.
    """
    labels = list(dict.fromkeys(used))
    if declared:
        twice = next((s for s in declared if list(declared).count(s) > 1), None)
        if twice is not None:
            raise SeederError(f"settings: {clean(twice, 40)!r} stands in the order twice")
        for label in labels:
            if label not in declared:
                small = {s.lower(): s for s in declared}
                near = get_close_matches(label.lower(), list(small), n=1, cutoff=0.6)
                hint = f"did you mean {small[near[0]]}? " if near else ""
                raise SeederError(
                    f"setting {clean(label, 40)!r} is not in the seeder's order of settings; "
                    f"{hint}Known are {', '.join(declared)}"
                )
        return tuple(declared)
    try:
        return tuple(sorted(labels, key=number))
    except ValueError:
        shown = [clean(label, 20) for label in labels[:12]]
        raise SeederError(
            f"settings {', '.join(shown)} are no numbers, and their order is not known; give it "
            f'from fewest to most seeds with --settings "{",".join(shown)}", put right, or with '
            "--result RESULT.json of a run whose run file has settings"
        ) from None


def positions(order: Sequence[str]) -> tuple[float, ...]:
    """Where the settings stand: at their number where all are numbers in order, else 1, 2, 3, …

    >>> positions(("9", "9.5", "11")), positions(("F1", "F2"))
    ((9.0, 9.5, 11.0), (1.0, 2.0))
    """
    try:
        numbers = [number(s) for s in order]
    except ValueError:
        numbers = []
    if numbers and all(a < b for a, b in pairwise(numbers)):
        return tuple(numbers)
    return tuple(float(i + 1) for i in range(len(order)))
