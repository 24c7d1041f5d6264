"""Latitude and longitude in one cell: "59.1234, 10.2345", "59°07.4'N 10°14.1'E", "+59.12+010.23/".

Which of the two comes first is told by the cell's letters, by the heading, or by a figure beyond
90; else latitude does [ISO 6709, 6.2].
"""

from __future__ import annotations

import re
from math import isnan

from ...core.language import English
from ...core.written import number
from .degrees import COMMA, WRITTEN, parse_degrees
from .raw_fixes import NAN, FixColumns, TrackTally

_GAP = re.compile(r"\s*[,;/|]\s*|\s+")
_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")
_STRING = re.compile(r"([+-]\d{2,6}(?:\.\d+)?)([+-]\d{3,7}(?:\.\d+)?)(?:[+-][\d.]+)?(?:CRS\w*)?/?")
"""[ISO 6709, annex H]: degrees, or degrees with minutes, or with seconds too."""
_NORTH, _EAST = re.compile(r"[NS]", re.I), re.compile(r"[EWO]", re.I)
MOST_GAPS = 12
TWO_CELLS = English("position in two cells under one heading read as one")


def parse_pair(text: str) -> tuple[float, float, str]:
    """The two angles in a cell as they stand, in degrees, and which its letters say comes first.

    >>> parse_pair("59,1234; 10,2345"), parse_pair("E 10° 14.1' N 59° 7.4'")[2]
    ((59.1234, 10.2345, ''), 'lon')

    Raises
    ------
    ValueError : it writes no two angles, or they can be taken apart in two ways.
    """
    text = text.strip().strip("()[]").replace("−", "-")
    if match := _STRING.fullmatch(text):
        return _of_string(match[1], 2), _of_string(match[2], 3), "lat"
    gaps = list(_GAP.finditer(text))
    if len(text) > 120 or len(gaps) > MOST_GAPS:
        raise ValueError(text)
    found: dict[int, set[tuple[float, float, str]]] = {}
    for gap in gaps:
        one, other = text[: gap.start()], text[gap.end() :]
        try:
            pair = _angle(one), _angle(other), _first(one, other)
        except ValueError:
            continue
        unlike = abs(len(_NUMBER.findall(one)) - len(_NUMBER.findall(other)))
        found.setdefault(unlike, set()).add(pair)
    best = found[min(found)] if found else set()
    if len(best) != 1:
        raise ValueError(text)
    return best.pop()


def _angle(text: str) -> float:
    value = parse_degrees(text)
    if abs(value) > 360:
        raise ValueError(text)
    return value


def _first(one: str, other: str) -> str:
    """Which of two written angles is the latitude, by their letters.

    Raises
    ------
    ValueError : both are latitudes, or both are longitudes.
    """
    north = bool(_NORTH.search(one)), bool(_NORTH.search(other))
    east = bool(_EAST.search(one)), bool(_EAST.search(other))
    if all(north) or all(east):
        raise ValueError(one)
    return "lat" if north[0] or east[1] else "lon" if north[1] or east[0] else ""


def _of_string(text: str, degree_digits: int) -> float:
    sign, digits = (-1 if text[0] == "-" else 1), text[1:]
    whole = len(digits.partition(".")[0]) - degree_digits
    if whole not in (0, 2, 4):
        raise ValueError(text)
    parts = [digits[:degree_digits], digits[degree_digits:]]
    if whole == 0:
        return sign * float(digits)
    if whole == 4:
        parts = [parts[0], parts[1][:2], parts[1][2:]]
    values = [float(part) for part in parts]
    if max(values[1:]) >= 60:
        raise ValueError(text)
    return sign * sum(value / 60.0**power for power, value in enumerate(values))


class PositionCells:
    """The cells of one column, read row by row and put the right way round at the end.

    ``first`` is what the heading says comes first: "lat", "lon", or "" where it says neither.
    """

    def __init__(self, first: str, tally: TrackTally) -> None:
        self._first, self._tally = first, tally
        self._told: dict[int, str] = {}

    def read(self, cell: str, line: int, row: int) -> tuple[float, float]:
        """The two angles of a row in the order in which they stand, NaN where unreadable."""
        try:
            one, _, other = cell.partition(",")
            return float(one), float(other)
        except ValueError:
            pass
        try:
            one_deg, other_deg, first = parse_pair(cell)
        except ValueError:
            return NAN, NAN
        if first:
            self._told[row] = first
        self._report(cell, line)
        return one_deg, other_deg

    def _report(self, cell: str, line: int) -> None:
        halves = [half for half in re.split(r"[\s;/|()\[\]]+|,\s", cell) if half]
        try:
            for half in halves:
                number(half)
        except ValueError:
            self._tally.repair(WRITTEN, line)
            return
        if any("," in half for half in halves):
            self._tally.repair(COMMA, line)

    def put_right(self, columns: FixColumns) -> None:
        """Exchange the angles of the rows whose longitude comes first."""
        one, other = columns.latitude_deg, columns.longitude_deg
        usual = self._usual(columns)
        for row in range(len(one)):
            if self._told.get(row, usual) == "lon":
                one[row], other[row] = other[row], one[row]

    def _usual(self, columns: FixColumns) -> str:
        """Which comes first in the rows without letters."""
        told = set(self._told.values())
        if self._first or len(told) == 1:
            return self._first or told.pop()
        one, other = columns.latitude_deg, columns.longitude_deg
        if not one or all(isnan(value) for value in one):
            return "lat"
        place, count = columns.place(0), len(one)
        beyond = all(abs(a) > 90 >= abs(b) for a, b in zip(one, other, strict=True) if a == a)
        if beyond:
            text = English("position read as longitude, latitude, since the first is beyond 90")
        else:
            text = English("position without letters read as latitude, longitude")
        self._tally.repair(text, place, count)
        return "lon" if beyond else "lat"
