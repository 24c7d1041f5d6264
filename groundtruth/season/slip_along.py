"""Slip along the passes whose turns were timed, laid onto their strips, so that wet spots show."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..core.measured import Measured
from .columns import Row, select
from .run_tables import SLIP_ALONG

if TYPE_CHECKING:
    from shapely import Polygon


@dataclass(frozen=True, slots=True, kw_only=True)
class StripPart:
    """A part of a strip and the slip on it; ``sowing`` is the strip's place among the sowings.

    Parts of a strip come in the order in which they were sown.
    """

    sowing: int
    outline: Polygon
    slip: Measured


def strip_parts(
    db: sqlite3.Connection, strips: Sequence[tuple[Row, Polygon]]
) -> tuple[StripPart, ...]:
    """The parts of all strips; ``strips`` are the passes' rows with the strips' outlines.

    Of several row units on a part the middle one counts, so that one that lags does not stand for
    the soil.
    """
    by_pass: dict[int, dict[tuple[float, float], list[Measured]]] = {}
    for (part,) in select(
        db,
        {"a": SLIP_ALONG},
        "FROM slip_along a WHERE a.slip IS NOT NULL ORDER BY a.pass_id, a.from_m, a.id",
    ):
        ends = part["from"], part["to"]
        by_pass.setdefault(part["pass_id"], {}).setdefault(ends, []).append(part["slip"])
    found = []
    for sowing, (of_pass, outline) in enumerate(strips):
        mine = by_pass.get(of_pass["id"], {})
        length = max((end for _, end in mine), default=0.0)
        for (start, end), slips in mine.items():
            middle = sorted(slips, key=lambda s: s.value)[(len(slips) - 1) // 2]
            part_outline = _part(outline, of_pass["geom"].coords[0], start / length, end / length)
            found.append(StripPart(sowing=sowing, outline=part_outline, slip=middle))
    return tuple(found)


def _part(strip: Polygon, first: tuple[float, ...], low: float, high: float) -> Polygon:
    """The part of a strip between two shares of its length, from the end nearer to ``first``."""
    from shapely import LineString, Point, Polygon, line_interpolate_point

    a, b, c, d = strip.exterior.coords[:4]  # one end, then the other
    start = Point(first)
    if start.distance(Point(a)) >= start.distance(Point(c)):
        low, high = 1 - high, 1 - low
    left, right = LineString([a, d]), LineString([b, c])
    sides = (
        line_interpolate_point(side, share, normalized=True)
        for side, share in ((left, low), (right, low), (right, high), (left, high))
    )
    return Polygon(list(sides))
