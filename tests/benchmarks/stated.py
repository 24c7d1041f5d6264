"""Is a stated certainty worth what it says? Counted in classes of what was stated."""

from __future__ import annotations

from collections.abc import Sequence

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

    def show(self) -> None:
        """Print a row for each class, and all of 95 % and more together."""
        for i, edge in enumerate(EDGES):
            if self.said[i]:
                top = EDGES[i + 1] if i + 1 < len(EDGES) else 1.0
                mean = sum(self.said[i]) / len(self.said[i])
                print(
                    f"stated {edge:.0%} to {top:.0%}: {self.right[i]} of {len(self.said[i])} right "
                    f"({self.right[i] / len(self.said[i]):.1%}), stated {mean:.1%} on average"
                )
        many, right = sum(map(len, self.said[3:])), sum(self.right[3:])
        if many:
            print(f"stated 95 % and more: {right} of {many} right ({right / many:.2%})")
