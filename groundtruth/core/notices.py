"""What was repaired or found odd in the input, counted, so that nothing happens in silence."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from .language import English, many, said


def at_line(file: str, line: int | None) -> str:
    """The place of a notice: "bench.csv, line 7"."""
    return English("{file}, line {line}", file=file, line=line) if line else file


def at_point(file: str, point: int) -> str:
    """The place of a notice: "track.gpx, point 17"."""
    return English("{file}, point {point}", file=file, point=point) if point else file


@dataclass(frozen=True, slots=True, kw_only=True)
class Notice:
    """One kind of repair or remark about one input.

    ``kind`` is "repair" (data were changed or left out), "warning" (the reader should think
    again) or "fact" (worth knowing). ``count`` is the number of points or lines concerned,
    ``where`` names the file and the first line or point.
    """

    kind: Literal["repair", "warning", "fact"]
    text: str
    count: int = 1
    where: str = ""

    def __str__(self) -> str:
        place = f"{self.where}: " if self.where else ""
        times = f" ({self.count} times)" if self.count > 1 else ""
        return f"{place}{self.text}{times}"

    @property
    def said(self) -> str:
        """The same in the language asked for, where the text knows its template."""
        times = f" ({many(self.count, 'once', '{count} times')})" if self.count > 1 else ""
        place = f"{said(self.where)}: " if self.where else ""
        return f"{place}{said(self.text)}{times}"
