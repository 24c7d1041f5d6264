"""Ground per gear turn by pass as a drawing (SVG): points, 95 % intervals, the pooled band."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, log10
from statistics import median
from xml.etree.ElementTree import Element

from ...core.display import Scale, ground_scale
from ...core.language import decimals, many, say
from ...core.result import PassFigure, Result
from ...core.units import unit_factor
from ..html import node

WIDTH, NARROW, HEIGHT = 900.0, 400.0, 160.0
"""Of the drawing on paper and on a screen, and on a phone."""
_LEFT, _TOP, _BOTTOM = 50.0, 8.0, 140.0
_MARKS_ABREAST = 20
"""On a phone; more marks than this go into a second row."""
_MOST_TICKS = 30
_LONG = 3.0
"""Intervals longer than this many times their median do not stretch the axis; they are cut."""
MARKS = 4
"""Row units are told apart by the shape of their mark; more than this share shapes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Axis:
    """From ground per turn [m] to the height in the drawing, cut off at the frame."""

    low: float
    high: float

    def __call__(self, value: float) -> float:
        share = (value - self.low) / (self.high - self.low)
        return _BOTTOM - min(1.0, max(0.0, share)) * (_BOTTOM - _TOP)


def narrow_plots(result: Result) -> list[Element]:
    """The drawing in as many rows as it takes for a phone, all to one scale."""
    numbers = _numbers(result)
    most = max(1, _MARKS_ABREAST // max(1, len(unit_names(result.passes))))
    rows = ceil(len(numbers) / most) or 1
    each = ceil(len(numbers) / rows) or 1
    y = _axis(result)
    return [
        _drawing(result, y, numbers[i : i + each], NARROW)
        for i in range(0, max(1, len(numbers)), each)
    ]


def passes_plot(result: Result) -> Element:
    """The drawing of all passes, with a text that says the same."""
    return _drawing(result, _axis(result), _numbers(result), WIDTH)


def _drawing(result: Result, y: _Axis, numbers: Sequence[int], width: float) -> Element:
    ground = ground_scale(result.units)
    in_use_m = result.seeder.ground_per_gear_turn_in_use_m
    units = unit_names(result.passes)
    places = {number: place for place, number in enumerate(numbers)}
    right = width - 8.0
    step = (right - _LEFT) / max(1, len(numbers))
    return node(
        "svg",
        *_grid(y, ground, right),
        _band(result, y, right),
        *_pass_ticks(numbers, step, right),
        _in_use(in_use_m, y, right) if in_use_m is not None else None,
        *(
            _point(figure, places[figure.number], step, units, y)
            for figure in result.passes
            if figure.number in places
        ),
        viewBox=f"0 0 {width:g} {HEIGHT:g}",
        role="img",
        aria_label=many(
            len(numbers),
            "Ground per gear turn of {count} pass with 95 % intervals; pooled {ground}",
            "Ground per gear turn of {count} passes with 95 % intervals; pooled {ground}",
            ground=ground.show(result.ground_per_turn),
        ),
        class_="plot",
    )


def _numbers(result: Result) -> list[int]:
    return sorted({figure.number for figure in result.passes})


def unit_names(figures: Sequence[PassFigure]) -> tuple[str, ...]:
    """The row units in order of first appearance."""
    return tuple(dict.fromkeys(figure.unit for figure in figures))


def mark(unit_index: int, x: float, y: float) -> Element:
    """The mark of a row unit, about 7 units wide, centred."""
    at = f"translate({x:.1f} {y:.1f})"
    paths = ("", "M-3.2 -3.2H3.2V3.2H-3.2Z", "M0 -4.2L4 3.2H-4Z", "M0 -4.4L4.4 0L0 4.4L-4.4 0Z")
    path = paths[unit_index % MARKS]
    if not path:
        return node("circle", r="3.4", transform=at, class_="mark")
    return node("path", d=path, transform=at, class_="mark")


def _axis(result: Result) -> _Axis:
    intervals = [figure.ground_per_turn.interval() for figure in result.passes]
    usual = median(high - low for low, high in intervals) if intervals else 0.0
    values = [v for low, high in intervals if high - low <= _LONG * usual for v in (low, high)]
    values += [figure.ground_per_turn.value for figure in result.passes]
    values += result.ground_per_turn_95
    in_use_m = result.seeder.ground_per_gear_turn_in_use_m
    if in_use_m is not None:
        values.append(in_use_m)
    low, high = min(values), max(values)
    room = max((high - low) * 0.06, abs(high) * 1e-4)
    return _Axis(low=low - room, high=high + room)


def _band(result: Result, y: _Axis, right: float) -> Element:
    low, high = result.ground_per_turn_95
    middle = y(result.ground_per_turn.value)
    return node(
        "g",
        node(
            "rect",
            x=f"{_LEFT}",
            y=f"{y(high):.1f}",
            width=f"{right - _LEFT}",
            height=f"{max(1.0, y(low) - y(high)):.1f}",
            class_="band",
        ),
        node(
            "line",
            x1=f"{_LEFT}",
            x2=f"{right}",
            y1=f"{middle:.1f}",
            y2=f"{middle:.1f}",
            class_="pooled",
        ),
    )


def _grid(y: _Axis, scale: Scale, right: float) -> list[Element]:
    """Rules at round numbers of the user's unit, with their labels."""
    factor = unit_factor(scale.unit)
    low, high = y.low / factor, y.high / factor
    step = nice_step((high - low) / 4)
    places = max(0, -floor(log10(step) + 1e-9))
    drawn = []
    for count in range(ceil(low / step), floor(high / step) + 1):
        value = count * step
        at = f"{y(value * factor):.1f}"
        drawn.append(node("line", x1=f"{_LEFT}", x2=f"{right}", y1=at, y2=at, class_="rule"))
        drawn.append(
            node(
                "text",
                decimals(f"{value:.{places}f}"),
                x=f"{_LEFT - 6}",
                y=at,
                dy="0.35em",
                text_anchor="end",
            )
        )
    return drawn


def nice_step(step: float) -> float:
    """The number out of 1, 2, 5 × 10^k that comes next to a step from below.

    Raises
    ------
    ValueError : the step is not above 0.
    """
    power = 10.0 ** floor(log10(step))
    return max(n * power for n in (1.0, 2.0, 5.0) if n * power <= step * (1 + 1e-9))


def _pass_ticks(numbers: Sequence[int], step: float, right: float) -> list[Element]:
    every = ceil(len(numbers) / _MOST_TICKS) or 1
    labels = [
        node(
            "text",
            str(number),
            x=f"{_LEFT + (i + 0.5) * step:.1f}",
            y=f"{_BOTTOM + 15}",
            text_anchor="middle",
        )
        for i, number in enumerate(numbers)
        if i % every == 0
    ]
    frame = node(
        "line", x1=f"{_LEFT}", x2=f"{right}", y1=f"{_BOTTOM}", y2=f"{_BOTTOM}", class_="frame"
    )
    title = node("text", say("pass"), x=f"{_LEFT - 6}", y=f"{_BOTTOM + 15}", text_anchor="end")
    return [frame, *labels, title]


def _in_use(in_use_m: float, y: _Axis, right: float) -> Element:
    at = f"{y(in_use_m):.1f}"
    return node("line", x1=f"{_LEFT}", x2=f"{right}", y1=at, y2=at, class_="in-use")


def _point(figure: PassFigure, place: int, step: float, units: Sequence[str], y: _Axis) -> Element:
    unit = units.index(figure.unit)
    spread = step * 0.6 * ((unit + 0.5) / len(units) - 0.5) if len(units) > 1 else 0.0
    x = _LEFT + (place + 0.5) * step + spread
    low, high = figure.ground_per_turn.interval()
    return node(
        "g",
        node(
            "line",
            x1=f"{x:.1f}",
            x2=f"{x:.1f}",
            y1=f"{y(low):.1f}",
            y2=f"{y(high):.1f}",
            class_="whisker",
        ),
        mark(unit, x, y(figure.ground_per_turn.value)),
        class_=f"unit{unit % MARKS}",
    )
