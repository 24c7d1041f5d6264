"""What goes wrong: the changes that put a mistake into a morning."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from groundtruth.core.measured import Measured
from groundtruth.core.track import Track
from groundtruth.core.turns import TurnCount

from .mistake_mornings import Change, Morning, each_count, timed


def no_times(morning: Morning, rng: np.random.Generator) -> Morning:
    """The sheet follows the order of the passes."""
    return each_count(morning, lambda c: replace(c, start_s=None, end_s=None))


def clock(off_s: float) -> Change:
    """The watch is ahead or behind."""

    def mistake(morning: Morning, rng: np.random.Generator) -> Morning:
        by = off_s * int(rng.choice([-1, 1]))
        return timed(morning, lambda t: t + by)

    return mistake


def drift(morning: Morning, rng: np.random.Generator) -> Morning:
    """The watch loses or gains 10 s an hour, and was right at the beginning."""
    rate, begin = int(rng.choice([-1, 1])) * 10 / 3600, float(morning.day.track.time_s[0])
    return timed(morning, lambda t: float(round(t + rate * (t - begin))))


def to_the_minute(morning: Morning, rng: np.random.Generator) -> Morning:
    """The minute that the watch shows."""

    def floored(c: TurnCount) -> TurnCount:
        if c.start_s is None or c.end_s is None:
            return c
        return replace(
            c,
            start_s=c.start_s // 60 * 60,
            end_s=c.end_s // 60 * 60,
            instant_resolution_s=60.0,
        )

    return each_count(morning, floored)


def time_typed_wrong(morning: Morning, rng: np.random.Generator) -> Morning:
    """One start or end is 10 s to an hour off, on the lines of all units of its pass."""
    number, at_start = int(rng.choice(_numbers(morning))), bool(rng.random() < 0.5)
    by = float(rng.choice([10, 20, 30, 60, 120, 300, 600, 3600]))

    def wrong(c: TurnCount) -> TurnCount:
        if c.pass_number != number or c.start_s is None or c.end_s is None:
            return c
        # away from the other instant, so that the end stays after the start
        if at_start:
            return replace(c, start_s=c.start_s - by)
        return replace(c, end_s=c.end_s + by)

    return each_count(morning, wrong)


def time_typed_inside(morning: Morning, rng: np.random.Generator) -> Morning:
    """One start or end is 10 to 30 s inside the pass, on the lines of all units of its pass."""
    number, at_start = int(rng.choice(_numbers(morning))), bool(rng.random() < 0.5)
    by = float(rng.choice([10, 20, 30]))

    def wrong(c: TurnCount) -> TurnCount:
        if c.pass_number != number or c.start_s is None or c.end_s is None:
            return c
        if not c.end_s - c.start_s > by:
            return c
        start, end = (c.start_s + by, c.end_s) if at_start else (c.start_s, c.end_s - by)
        return replace(c, start_s=start, end_s=end)

    cells = frozenset((c.pass_number, c.unit) for c in morning.counts if c.pass_number == number)
    return each_count(replace(morning, touched=morning.touched | cells), wrong)


def digits_swapped(digits: str, rng: np.random.Generator) -> str:
    """Two neighbouring digits swapped."""
    at = [i for i in range(len(digits) - 1) if digits[i] != digits[i + 1]]
    i = int(rng.choice(at)) if at else 0
    return digits[:i] + digits[i : i + 2][::-1] + digits[i + 2 :]


def digit_lost(digits: str, rng: np.random.Generator) -> str:
    """A digit left out."""
    i = int(rng.integers(len(digits)))
    return digits[:i] + digits[i + 1 :] or "1"


def digit_doubled(digits: str, rng: np.random.Generator) -> str:
    """A digit typed twice."""
    i = int(rng.integers(len(digits)))
    return digits[: i + 1] + digits[i:]


def typed(change: Callable[[str, np.random.Generator], str], *, named: bool = True) -> Change:
    """One count is typed wrong; ``named`` where that can be told from the others."""

    def mistake(morning: Morning, rng: np.random.Generator) -> Morning:
        counts = list(morning.counts)
        for k in rng.permutation(len(counts)).tolist():
            wrong = float(change(str(int(counts[k].turns)), rng))
            if wrong > 0 and wrong != counts[k].turns:
                cell = (counts[k].pass_number, counts[k].unit)
                counts[k] = replace(counts[k], turns=wrong)
                # a digit that changes the count by less than 1 in 12 is within what soil does
                far = named and abs(np.log(wrong / morning.counts[k].turns)) > 0.08
                cells = morning.cells | {cell} if far else morning.cells
                touched = morning.touched | {cell}
                return replace(morning, counts=tuple(counts), cells=cells, touched=touched)
        return morning

    return mistake


def off_by(turns: int) -> Callable[[str, np.random.Generator], str]:
    """A count too high or too low by so many."""
    return lambda digits, rng: str(int(digits) + turns * int(rng.choice([-1, 1])))


def blank(morning: Morning, rng: np.random.Generator) -> Morning:
    """A line without turns, which reading leaves out."""
    gone = int(rng.integers(len(morning.counts)))
    kept = tuple(c for k, c in enumerate(morning.counts) if k != gone)
    return replace(morning, counts=kept)


def running(morning: Morning, rng: np.random.Generator) -> Morning:
    """The counters were not set back, and what they showed was typed for every pass."""
    shown: dict[str, float] = {}
    every = frozenset((c.pass_number, c.unit) for c in morning.counts)
    morning = replace(morning, cells=frozenset(), touched=every)

    def reached(c: TurnCount) -> TurnCount:
        shown[c.unit] = shown.get(c.unit, 0.0) + c.turns
        return replace(c, turns=shown[c.unit])

    return each_count(morning, reached)


def not_set_back(morning: Morning, rng: np.random.Generator) -> Morning:
    """The counters were not set back before one pass, which got the turns of two."""
    numbers = _numbers(morning)
    number = int(rng.choice(numbers[1:]))
    before = {c.unit: c.turns for c in morning.counts if c.pass_number == number - 1}
    wrong = each_count(
        morning,
        lambda c: (
            replace(c, turns=c.turns + before.get(c.unit, 0.0)) if c.pass_number == number else c
        ),
    )
    cells = frozenset((c.pass_number, c.unit) for c in morning.counts if c.pass_number == number)
    return replace(wrong, cells=morning.cells | cells, touched=morning.touched | cells)


def _numbers(morning: Morning) -> list[int]:
    return sorted({c.pass_number for c in morning.counts})


def _renumbered(morning: Morning, rows: Sequence[tuple[int, Sequence[TurnCount]]]) -> Morning:
    """The rows of the passes with new numbers in order; cells that were wrong follow them."""
    counts = []
    moved: dict[str, set[tuple[int, str]]] = {"cells": set(), "touched": set()}
    for new, (old, row) in enumerate(rows, start=1):
        counts += [replace(c, pass_number=new) for c in row]
        for name, cells in moved.items():
            cells |= {(new, unit) for number, unit in getattr(morning, name) if number == old}
    kept = {name: frozenset(cells) for name, cells in moved.items()}
    return replace(morning, counts=tuple(counts), **kept)


def _rows(morning: Morning) -> list[tuple[int, list[TurnCount]]]:
    numbers = _numbers(morning)
    return [(n, [c for c in morning.counts if c.pass_number == n]) for n in numbers]


def row_forgotten(morning: Morning, rng: np.random.Generator) -> Morning:
    """One pass was not written down, and the rest was numbered on."""
    rows = _rows(morning)
    del rows[int(rng.integers(len(rows)))]
    return _renumbered(morning, rows)


def row_doubled(morning: Morning, rng: np.random.Generator) -> Morning:
    """One pass was written down twice, and the rest was numbered on."""
    rows = _rows(morning)
    k = int(rng.integers(len(rows)))
    return _renumbered(morning, [*rows[: k + 1], *rows[k:]])


def rows_swapped(morning: Morning, rng: np.random.Generator) -> Morning:
    """The counts of a pass stand on the row of the next, and the other way round."""
    rows = _rows(morning)
    if len(rows) < 2:
        return morning
    k = int(rng.integers(len(rows) - 1))
    one, two = ({c.unit: c.turns for c in rows[j][1]} for j in (k, k + 1))
    new = {rows[k][0]: two, rows[k + 1][0]: one}
    return each_count(
        morning,
        lambda c: replace(c, turns=new.get(c.pass_number, {}).get(c.unit, c.turns)),
    )


def units_swapped(morning: Morning, rng: np.random.Generator) -> Morning:
    """On one pass the counts of two units stand in each other's column."""
    numbers, units = _numbers(morning), sorted({c.unit for c in morning.counts})
    number = int(rng.choice(numbers))
    a, b = rng.choice(units, size=2, replace=False).tolist()
    turns = {c.unit: c.turns for c in morning.counts if c.pass_number == number}
    swap = {a: turns.get(b), b: turns.get(a)}
    cells = frozenset({(number, a), (number, b)})
    far = len(turns) == len(units) and abs(np.log(turns[a] / turns[b])) > 0.05
    morning = replace(
        morning,
        cells=morning.cells | (cells if far else frozenset()),
        touched=morning.touched | cells,
    )
    return each_count(
        morning,
        lambda c: replace(c, turns=swap.get(c.unit) or c.turns) if c.pass_number == number else c,
    )


def taped_wrong(morning: Morning, rng: np.random.Generator) -> Morning:
    """One taped length is 20 m off, as where the tape was laid on wrongly."""
    number = int(rng.choice(_numbers(morning)))
    at = min(number, len(morning.day.passes)) - 1
    length = morning.day.passes[at].ground_m + 20.0 * float(rng.choice([-1, 1]))
    wrong = Measured(length, 0.1)
    return each_count(morning, lambda c: replace(c, taped=wrong) if c.pass_number == number else c)


def wheel_wrong(morning: Morning, rng: np.random.Generator) -> Morning:
    """The wheel's circumference is written a quarter too long."""
    seeder = morning.day.seeder
    assert seeder.wheel_circumference is not None
    wrong = seeder.wheel_circumference.scaled(1.25)
    seeder = replace(seeder, wheel_circumference=wrong)
    return replace(morning, day=replace(morning.day, seeder=seeder))


def _cut(morning: Morning, share: tuple[float, float], *, late: bool) -> Morning:
    day = morning.day
    first, last = day.passes[0].start_s, day.passes[-1].end_s
    from_s, until_s = (first + s * (last - first) for s in share)
    inside = (day.track.time_s >= from_s if late else True) & (day.track.time_s <= until_s)
    track = day.track.taken(inside)
    return replace(morning, day=replace(day, track=track), hurt=True)


def died(morning: Morning, rng: np.random.Generator) -> Morning:
    """The phone died somewhere after half of the work."""
    return _cut(morning, (-1.0, rng.uniform(0.5, 0.97)), late=False)


def started_late(morning: Morning, rng: np.random.Generator) -> Morning:
    """The recording was begun somewhere in the first half of the work."""
    return _cut(morning, (rng.uniform(0.03, 0.5), 2.0), late=True)


def recorded(keep: Callable[[Track, np.random.Generator], Track]) -> Change:
    """A recorder that leaves fixes out."""

    def changed(morning: Morning, rng: np.random.Generator) -> Morning:
        track = keep(morning.day.track, rng)
        return replace(morning, day=replace(morning.day, track=track), hurt=True)

    return changed
