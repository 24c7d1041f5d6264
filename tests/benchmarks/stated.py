"""Is a stated certainty, or a stated rate of false alarms, worth what it says?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from page import markdown_table

EDGES = (0.0, 0.5, 0.8, 0.95, 0.99)


class Stated:
    """How often what was stated with some certainty was right."""

    def __init__(self) -> None:
        self.said: list[list[float]] = [[] for _ in EDGES]
        self.right = [0 for _ in EDGES]

    def take_in(self, said: Sequence[float], right: Sequence[bool]) -> None:
        """Count some sowings."""
        for sure, true in zip(said, right, strict=True):
            at = max(i for i, edge in enumerate(EDGES) if sure >= edge)
            self.said[at].append(sure)
            self.right[at] += true

    def table(self) -> str:
        """A row for each class, as Markdown."""
        rows = [
            [
                f"{edge:.0%} to {top:.0%}",
                f"{right} of {len(said)} ({right / len(said):.1%})",
                f"{sum(said) / len(said):.1%}",
            ]
            for edge, top, said, right in zip(
                EDGES, (*EDGES[1:], 1.0), self.said, self.right, strict=True
            )
            if said
        ]
        return markdown_table(("stated", "right", "stated on average"), rows)

    def show(self) -> None:
        """Print a row for each class, and all of 95 % and more together."""
        print(self.table())
        many, right = sum(map(len, self.said[3:])), sum(self.right[3:])
        if many:
            print(f"stated 95 % and more: {right} of {many} right ({right / many:.2%})")


STATED_ALARMS = {
    "before and after": "1 in 20",
    "chart": "1 in 20",
    "row unit": "1 in 100",
    "bed sown twice": "1 in 10",
    "bed skipped": "1 in 10",
}
"""How many quiet seasons of 12 runs may raise each alarm; beds without names in the sheet."""


def alarm_table(alarms: Mapping[str, int], seasons: int) -> str:
    """In how many quiet seasons each alarm was raised, beside what is stated, as Markdown."""
    names = [*STATED_ALARMS, *sorted(set(alarms) - set(STATED_ALARMS))]
    rows = [
        [name, STATED_ALARMS.get(name.split(",")[0], "–"), alarms.get(name, 0)] for name in names
    ]
    return markdown_table(("alarm in a quiet season", "stated", f"of {seasons} seasons"), rows)
