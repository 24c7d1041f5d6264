"""Figures with their intervals under each other as a drawing (SVG), one line each."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from math import ceil, floor, log10
from xml.etree.ElementTree import Element

from ...core.safe_text import visible
from ..html import node
from ..report.plot import nice_step

WIDTH, NARROW = 900.0, 400.0
"""Of the drawing on paper and on a screen, and on a phone."""
MOST_LINES = 40
_LEFT, _EDGE, _STEP, _STACKED_STEP = 300.0, 14.0, 18.0, 36.0
_NAME, _NARROW_NAME = 44, 52
Scale = Callable[[float], float]
"""From a figure to its place across the drawing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ForestLine:
    """A figure with the ends of its interval; ``marked`` stands out."""

    name: str
    value: float
    low: float
    high: float
    marked: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Forest:
    """Lines to draw to one scale; ``unit`` is that of their figures, ``band`` what is usual or
    tolerated, ``zero`` where nothing is more or less."""

    title: str
    unit: str
    lines: tuple[ForestLine, ...]
    band: tuple[float, float] | None = None
    zero: float | None = None


def forest_plots(forest: Forest) -> list[Element]:
    """The drawing for paper and screens, and one for phones; empty where there is no line."""
    if not forest.lines:
        return []
    return [
        _drawn(forest, WIDTH, _LEFT, _STEP),
        node("div", _drawn(forest, NARROW, _EDGE, _STACKED_STEP), class_="narrow"),
    ]


def _drawn(forest: Forest, width: float, left: float, step: float) -> Element:
    lines = forest.lines[:MOST_LINES]
    low, high = _ends(forest, lines)
    bottom = 16.0 + step * len(lines)

    def x(value: float) -> float:
        share = (value - low) / (high - low)
        return left + min(1.0, max(0.0, share)) * (width - _EDGE - left)

    return node(
        "svg",
        *_grid(low, high, x, bottom),
        _band(forest.band, x, bottom),
        None if forest.zero is None else _upright(x(forest.zero), bottom, "frame"),
        *(
            part
            for i, line in enumerate(lines)
            for part in _line(line, x, 8.0 + step * (i + 1), stacked=step == _STACKED_STEP)
        ),
        viewBox=f"0 0 {width:g} {bottom + 24:g}",
        role="img",
        aria_label=f"{forest.title}: {len(lines)} figures with 95 % intervals, in {forest.unit}",
        class_="plot",
    )


def _ends(forest: Forest, lines: Iterable[ForestLine]) -> tuple[float, float]:
    values = [v for line in lines for v in (line.low, line.high)]
    values += [*(forest.band or ()), *([] if forest.zero is None else [forest.zero])]
    low, high = min(values), max(values)
    room = max((high - low) * 0.04, abs(high) * 1e-6, 1e-9)
    return low - room, high + room


def _grid(low: float, high: float, x: Scale, bottom: float) -> list[Element]:
    step = nice_step((high - low) / 5)
    places = max(0, -floor(log10(step) + 1e-9))
    drawn = []
    for count in range(ceil(low / step), floor(high / step) + 1):
        value = count * step
        drawn.append(_upright(x(value), bottom, "rule"))
        text = f"{value:.{places}f}".replace("-", "−")
        at = f"{x(value):.1f}"
        drawn.append(node("text", text, x=at, y=f"{bottom + 16:g}", text_anchor="middle"))
    return drawn


def _upright(at: float, bottom: float, class_: str) -> Element:
    return node("line", x1=f"{at:.1f}", x2=f"{at:.1f}", y1="4", y2=f"{bottom:g}", class_=class_)


def _band(band: tuple[float, float] | None, x: Scale, bottom: float) -> Element | None:
    if band is None:
        return None
    left, right = x(band[0]), x(band[1])
    return node(
        "rect",
        x=f"{left:.1f}",
        y="4",
        width=f"{max(1.0, right - left):.1f}",
        height=f"{bottom - 4:g}",
        class_="band",
    )


def _line(line: ForestLine, x: Scale, y: float, *, stacked: bool) -> list[Element]:
    name = visible(line.name, _NARROW_NAME if stacked else _NAME)
    at = (
        node("text", name, x=f"{_EDGE:g}", y=f"{y - 10:g}")
        if stacked
        else node("text", name, x=f"{_LEFT - 10:g}", y=f"{y:g}", dy="0.35em", text_anchor="end")
    )
    left, right, middle = x(line.low), x(line.high), x(line.value)
    here = f"{y:g}"
    mark = "M0 -4.4L4.4 0L0 4.4L-4.4 0Z"
    shape = (
        node("path", d=mark, transform=f"translate({middle:.1f} {y:g})", class_="mark")
        if line.marked
        else node("circle", r="3.4", cx=f"{middle:.1f}", cy=here, class_="mark")
    )
    whisker = node("line", x1=f"{left:.1f}", x2=f"{right:.1f}", y1=here, y2=here, class_="whisker")
    return [at, whisker, node("g", shape, class_="odd" if line.marked else None)]
