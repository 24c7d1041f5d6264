"""Slip along the passes whose turns were timed, laid onto their strips, so that wet spots show."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass

from ..core.measured import Measured
from ..io.geopackage import from_blob

LonLat = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """A part of a strip and the slip on it; ``sowing`` is the strip's place among the sowings.

    ``outline`` is a closed ring; parts of a strip come in the order in which they were sown.
    """

    sowing: int
    outline: tuple[LonLat, ...]
    slip: Measured


def read_spots(
    db: sqlite3.Connection, passes: Sequence[int], rings: Sequence[Sequence[LonLat]]
) -> tuple[Spot, ...]:
    """The parts of all strips; ``passes`` are their passes' ids and ``rings`` their outlines.

    Of several row units on a part the middle one counts, so that one that drags does not stand for
    the soil.
    """
    parts: dict[int, dict[tuple[float, float], list[Measured]]] = {}
    for pass_id, start, end, slip, slip_u in db.execute(
        "SELECT pass_id, from_m, to_m, slip, slip_u FROM slip_along WHERE slip IS NOT NULL"
        " ORDER BY pass_id, from_m, id"
    ):
        parts.setdefault(pass_id, {}).setdefault((start, end), []).append(Measured(slip, slip_u))
    found = []
    for sowing, (pass_id, ring) in enumerate(zip(passes, rings, strict=True)):
        mine = parts.get(pass_id)
        if not mine:
            continue
        (geom,) = db.execute("SELECT geom FROM passes WHERE id = ?", (pass_id,)).fetchone()
        first = from_blob(geom).points[0]
        forth = _away(first, ring[0]) < _away(first, ring[2])
        length = max(end for _, end in mine)
        for (start, end), slips in mine.items():
            shares = (start / length, end / length)
            low, high = shares if forth else (1 - shares[1], 1 - shares[0])
            middle = sorted(slips, key=lambda s: s.value)[(len(slips) - 1) // 2]
            found.append(Spot(sowing=sowing, outline=_part(ring, low, high), slip=middle))
    return tuple(found)


def _away(a: LonLat, b: LonLat) -> float:
    return (a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2


def _part(ring: Sequence[LonLat], low: float, high: float) -> tuple[LonLat, ...]:
    """The part of a strip between two shares of its length, from the end of its first corners."""

    def between(a: LonLat, b: LonLat, share: float) -> LonLat:
        return a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share

    left, right, far_right, far_left = ring[:4]
    corners = (
        between(left, far_left, low),
        between(right, far_right, low),
        between(right, far_right, high),
        between(left, far_left, high),
    )
    return (*corners, corners[0])
