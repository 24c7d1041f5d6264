"""Repairs and warnings counted while a file is read."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from ..core.notices import Notice, at_line, at_point


@dataclass(slots=True)
class Tally:
    """Counted notices about one file, each with the first place it concerns.

    ``word`` is what the places number: "point" or "line".
    """

    name: str
    word: Literal["point", "line"] = "point"
    _kinds: dict[str, Literal["repair", "warning", "fact"]] = field(default_factory=dict)
    _counts: dict[str, int] = field(default_factory=dict)
    _first: dict[str, int] = field(default_factory=dict)
    _of_lines: set[str] = field(default_factory=set)

    def repair(self, text: str, place: int = 0, count: int = 1) -> None:
        """Count one repair; ``place`` 0 stands for the file as a whole."""
        self._add("repair", text, place, count)

    def repair_of_line(self, text: str, line: int, count: int = 1) -> None:
        """Count one repair of the file's text, which is told by the line whatever it holds."""
        self._of_lines.add(text)
        self._add("repair", text, line, count)

    def warn(self, text: str, place: int = 0, count: int = 1) -> None:
        """Count something that the reader should think about."""
        self._add("warning", text, place, count)

    def fact(self, text: str) -> None:
        """Note what is worth knowing."""
        self._add("fact", text, 0, 1)

    def _add(
        self, kind: Literal["repair", "warning", "fact"], text: str, place: int, count: int
    ) -> None:
        if text not in self._counts:
            self._kinds[text], self._counts[text], self._first[text] = kind, 0, place
        self._counts[text] += count

    def left_out(self) -> str:
        """ " (20 times: point without a readable time left out)", most first, or ""."""
        found = [text for text in self._counts if text.endswith("left out")]
        found.sort(key=lambda text: -self._counts[text])
        said = "; ".join(
            f"{f'{self._counts[text]} times' if self._counts[text] > 1 else 'once'}: {text}"
            for text in found[:3]
        )
        return f" ({said})" if said else ""

    def where(self, place: int) -> str:
        """ "track.gpx, point 17"."""
        return (at_point if self.word == "point" else at_line)(self.name, place)

    def notices(self) -> tuple[Notice, ...]:
        """All notices, in order of first appearance."""
        return tuple(
            Notice(
                kind=self._kinds[text],
                text=text,
                count=count,
                where=at_line(self.name, self._first[text])
                if text in self._of_lines
                else self.where(self._first[text]),
            )
            for text, count in self._counts.items()
        )
