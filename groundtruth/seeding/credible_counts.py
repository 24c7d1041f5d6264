"""Which counts can be true: each catch and each counted stand against the others of its lot.

A count is not credible where it strays from all that the others say of it, from the repeats and
from the settings next to it, by more than ``MOST_SIGMA`` standard deviations of the counts and by
more than a factor. Counts that scatter by chance, even clumping ones, do not come near; a digit
too many, one too few or two swapped do.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import exp, log, sqrt
from statistics import median

from ..core.counts import BenchCount, StandCount
from ..core.errors import SeederError
from ..core.language import English
from ..core.notices import Notice, at_line
from ..core.what_was_meant import meant
from .setting_order import positions, settings_in_order

LEFT_OUT, AS_TYPED = English("left out"), English("taken as typed")
KEPT = English("kept as typed; the record's figures by setting leave it out")
MOST_SIGMA, MOST_SIGMA_OF_STANDS = 5.0, 4.0
"""A stand scatters more than a catch, and would else hide a tenfold slip; judgement."""
LEAST_FACTOR = 1.6
"""A count that is nearer than this to what was expected is never doubted; judgement."""
ASSUMED_DISPERSION = 3.0
"""Variance over mean where repeats are too few to tell it: that of seed that clumps; judgement."""
LEAST_DISPERSION = 2.0
"""Taken where many repeats agree closer than that: the next may not; judgement."""
FEW_REPEATS = 6
MOST_JUDGED = 300
"""Counts of one lot beyond which nobody counted by hand; they are not judged."""
BETWEEN_SETTINGS = 1.5
"""How far a setting may lie beyond its neighbours, as a factor; judgement."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DoubtfulCount:
    """A count that cannot be true, what the others lead to expect, and what was probably meant.

    ``what`` says in words what was counted ("setting 10: 2850 seeds in 6 turns").
    """

    line: int
    what: str
    expected: tuple[float, float]
    suggestion: float | None

    def notice(self, file: str, done: str = LEFT_OUT) -> Notice:
        """The question about it, with its place; ``done`` is what became of it."""
        text = English(
            "{what}; the others lead to {low:.0f} to {high:.0f}; {ask} ({done})",
            what=self.what,
            low=self.expected[0],
            high=self.expected[1],
            ask=(
                English("count it again")
                if self.suggestion is None
                else English("is it {count:g}?", count=self.suggestion)
            ),
            done=done,
        )
        return Notice(kind="warning", text=text, where=at_line(file, self.line))


@dataclass(frozen=True, slots=True)
class _Expected:
    """What others say of a count: its mean and the relative variance of what they say."""

    low: float
    high: float
    variance: float


def doubtful_catches(
    counts: Sequence[BenchCount], order: Sequence[str]
) -> dict[int, DoubtfulCount]:
    """The catches of one crop and seed lot that cannot be true, by their place in ``counts``.

    ``order`` are the settings from fewest to most seeds; with none only repeats are compared.

    >>> from groundtruth import Measured
    >>> catches = [
    ...     BenchCount(crop="beet", seed_lot="", setting="9", turns=6, seeds=Measured(seeds))
    ...     for seeds in (285, 301, 2850)
    ... ]
    >>> [(at, found.suggestion) for at, found in doubtful_catches(catches, ["9"]).items()]
    [(2, 285.0)]
    """
    found: dict[int, DoubtfulCount] = {}
    left = dict(enumerate(counts))
    while 1 < len(left) <= MOST_JUDGED:
        groups = [
            g
            for setting in dict.fromkeys(c.setting for c in counts)
            if (g := _deviations(left.values(), setting))
        ]
        largest = max(groups, key=sum, default=[])
        phi = _scatter(groups, sum(len(g) - 1 for g in groups if g is not largest))
        worst = max(
            ((_excess(count.seeds.value, said, phi), at, said)
            for at, count in left.items()
            if (said := _said_by_others(at, left, order, phi))),
            default=(0.0, 0, []),
            key=lambda judged: judged[0],
        )  # fmt: skip
        excess, at, said = worst
        if excess <= 0:
            break
        count = left.pop(at)
        rest = [i for i, one in left.items() if one.setting == count.setting]
        found[at] = _doubt(count, said, phi)
        if len(said) == 1 and len(rest) == 1:  # nobody can tell which of two is wrong
            other = left.pop(rest[0])
            found[rest[0]] = _doubt(other, _said_by_others(0, {0: other, 1: count}, (), phi), phi)
    return dict(sorted(found.items()))


def order_if_known(counts: Sequence[BenchCount]) -> tuple[str, ...]:
    """The settings of catches from fewest to most seeds, none where only the seeder could tell."""
    try:
        return settings_in_order([count.setting for count in counts])
    except SeederError:
        return ()


def doubtful_stands(counts: Sequence[StandCount]) -> dict[int, DoubtfulCount]:
    """The stand counts of one crop and seed lot that cannot be true, by their place in ``counts``.

    Fewer than three counts do not judge each other. A low count is believed: crust and slugs leave
    gaps, and a stand without them would look better than it is.

    >>> counts = [
    ...     StandCount(crop="beet", seed_lot="", length_m=3, plants=plants)
    ...     for plants in (52, 61, 540, 47)
    ... ]
    >>> [(at, found.suggestion) for at, found in doubtful_stands(counts).items()]
    [(2, 54.0)]
    """
    found: dict[int, DoubtfulCount] = {}
    if not 2 < len(counts) <= MOST_JUDGED:
        return found
    rate = median(one.plants / one.length_m for one in counts)
    terms = [
        (one.plants - rate * one.length_m) ** 2 / max(rate * one.length_m, 1.0) for one in counts
    ]
    phi = _scatter([[term] for term in terms], len(terms) - 2)
    for at, count in enumerate(counts):
        others = [one for i, one in enumerate(counts) if i != at]
        mean = median(one.plants / one.length_m for one in others) * count.length_m
        one = _Expected(mean, mean, phi / max(sum(o.plants for o in others), 1))
        if (
            count.plants > mean
            and _excess(float(count.plants), [one], phi, MOST_SIGMA_OF_STANDS) > 0
        ):
            low, high = (mean * exp(sign * 2 * _std(one, phi)) for sign in (-1, 1))
            found[at] = DoubtfulCount(
                line=count.line,
                what=English(
                    "{crop}: {plants} plants on {length:.3g} m",
                    crop=count.crop,
                    plants=count.plants,
                    length=count.length_m,
                ),
                expected=(low, high),
                suggestion=meant(float(count.plants), low, high),
            )
    return found


def _doubt(count: BenchCount, said: Sequence[_Expected], phi: float) -> DoubtfulCount:
    low = min(one.low * exp(-2 * _std(one, phi)) for one in said)
    high = max(one.high * exp(2 * _std(one, phi)) for one in said)
    return DoubtfulCount(
        line=count.line,
        what=English(
            "setting {setting}: {seeds:.0f} seeds in {turns:g} turns",
            setting=count.setting,
            seeds=count.seeds.value,
            turns=count.turns,
        ),
        expected=(low, high),
        suggestion=meant(count.seeds.value, low, high),
    )


def _said_by_others(
    at: int, counts: Mapping[int, BenchCount], order: Sequence[str], phi: float
) -> list[_Expected]:
    """What the repeats and the settings next to it say of a catch."""
    others = [one for i, one in counts.items() if i != at]
    repeats = _of_repeats(counts[at], others, phi)
    near = _of_settings(counts[at], others, order, phi)
    return [one for one in (repeats, near) if one is not None]


def _deviations(counts: Iterable[BenchCount], setting: str) -> list[float]:
    """(n − λt)²/(λt) of the catches at a setting, λ by their median; no term where alone."""
    same = [one for one in counts if one.setting == setting]
    if len(same) < 2:
        return []
    rate = median(one.seeds.value / one.turns for one in same)
    return [(o.seeds.value - rate * o.turns) ** 2 / max(rate * o.turns, 1.0) for o in same]


def _scatter(groups: Sequence[Sequence[float]], free: int) -> float:
    """Variance over mean by Pearson's statistic, the worst group left out so that one slip does
    not hide itself; ``free`` are the degrees of freedom of the others.

    Taken a third larger, and at least ``ASSUMED_DISPERSION`` where they are few.
    """
    if free < 2:
        return ASSUMED_DISPERSION
    estimate = sum(sorted(map(sum, groups))[:-1]) / free
    least = LEAST_DISPERSION if free >= FEW_REPEATS else ASSUMED_DISPERSION
    return min(max(1.3 * estimate, least), 10 * ASSUMED_DISPERSION)


def _of_repeats(count: BenchCount, others: Sequence[BenchCount], phi: float) -> _Expected | None:
    """What the other catches at the same setting say of a catch."""
    same = [one for one in others if one.setting == count.setting]
    if not same:
        return None
    mean = median(one.seeds.value / one.turns for one in same) * count.turns
    return _Expected(mean, mean, phi / max(sum(one.seeds.value for one in same), 1.0))


def _of_settings(
    count: BenchCount, others: Sequence[BenchCount], order: Sequence[str], phi: float
) -> _Expected | None:
    """What the nearest settings tried below and above say of a catch, with room between them."""
    rates: dict[str, float] = {}
    for setting in order:
        rated = [one.seeds.value / one.turns for one in others if one.setting == setting]
        if rated and setting != count.setting:
            rates[setting] = median(rated)
    if len(rates) < 2:
        return None
    place = dict(zip(order, positions(order), strict=True))
    here = place[count.setting]
    below = [log(max(rates[s], 1e-3)) for s in rates if place[s] < here][-2:]
    above = [log(max(rates[s], 1e-3)) for s in rates if place[s] > here][:2]
    known = [(place[s], log(max(rates[s], 1e-3))) for s in rates]
    steepest = max(0.0, *((b[1] - a[1]) / (b[0] - a[0]) for a, b in pairwise(known)))
    near = min(abs(place[s] - here) for s in rates)
    low = min(below) if below else min(above) - 2 * steepest * near
    high = max(above) if above else max(below) + 2 * steepest * near
    room = log(BETWEEN_SETTINGS)
    seeds = sum(one.seeds.value for one in others if one.setting in rates)
    ends = (exp(min(low, high) - room), exp(max(low, high) + room))
    return _Expected(ends[0] * count.turns, ends[1] * count.turns, phi / max(seeds, 1.0))


def _std(one: _Expected, phi: float) -> float:
    """Relative standard deviation of a count about what others say of it."""
    return sqrt(one.variance + phi / max(one.low, 1.0))


def _excess(
    value: float, said: Sequence[_Expected], phi: float, sigma: float = MOST_SIGMA
) -> float:
    """How far, as a logarithm, a count strays beyond chance from all that others say; 0 or less
    where one of them can be true."""
    here, beyond = log(max(value, 0.5)), []
    for one in said:
        reach = max(sigma * _std(one, phi), log(LEAST_FACTOR))
        low, high = (log(max(end, 0.5)) for end in (one.low, one.high))
        beyond.append(max(low - here, here - high) - reach)
    return min(beyond)
