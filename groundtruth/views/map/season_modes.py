"""The ways to colour a season's strips: by setting, crop, day, slip or ground per turn.

Names take the colours of M. Okabe & K. Ito, "Color Universal Design" (2008), told apart by
red-green blind eyes too; slip and ground per turn those of the map of a run (see `classes`).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import median

from ...core.display import day_text, span
from ...core.language import say
from ...core.measured import Measured
from ...core.run import UnitSystem
from ...core.safe_text import visible
from ...season.query import BedSowing
from .classes import VIRIDIS_5, Legend, ground_legend, slip_legend

OKABE_ITO = ("#e69f00", "#56b4e9", "#009e73", "#f0e442", "#0072b2", "#d55e00", "#cc79a7", "#4d4d4d")
OTHERS = "#b4babb"
_NAME = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Colouring:
    """One way to colour: legend title, (label, colour) of each class, and the class of each strip.

    A class of None is "not known", `classes.UNSURE` too unsure to say.
    """

    key: str
    name: str
    title: str
    classes: tuple[tuple[str, str], ...]
    of: tuple[int | None, ...]


def modes_for(sowings: Sequence[BedSowing], units: UnitSystem) -> list[Colouring]:
    """All the ways that these strips can be coloured in."""
    found = [
        _by_name("crop", say("Crop"), sowings, lambda s: s.crop),
        _by_name("setting", say("Setting"), sowings, lambda s: s.setting),
        _by_day(sowings),
    ]
    if any(s.slip for s in sowings):
        found.append(_by_slip(sowings))
    if any(s.ground_per_turn for s in sowings):
        found.append(_by_ground(sowings, units))
    return [m for m in found if any(c is not None for c in m.of)]


def _by_name(
    key: str, name: str, sowings: Sequence[BedSowing], value: Callable[[BedSowing], str]
) -> Colouring:
    """The commonest eight names have a colour each, the others share one."""
    counted = Counter(value(s) for s in sowings if value(s))
    names = sorted(n for n, _ in counted.most_common(len(OKABE_ITO)))
    classes = [(visible(n, _NAME), c) for n, c in zip(names, OKABE_ITO, strict=False)]
    if len(counted) > len(names):
        classes.append((say("others"), OTHERS))
    index = {n: i for i, n in enumerate(names)}
    of = tuple(index.get(value(s), len(names)) if value(s) else None for s in sowings)
    return Colouring(key=key, name=name, title=name, classes=tuple(classes), of=of)


def _by_day(sowings: Sequence[BedSowing]) -> Colouring:
    """Days in order, in up to five groups of about as many days; light is early."""
    days = sorted({s.day for s in sowings})
    groups = min(len(days), len(VIRIDIS_5))
    edges = [round(i * len(days) / groups) for i in range(groups + 1)] if groups else [0]
    labels, group_of = [], {}
    for number, (low, high) in enumerate(pairwise(edges)):
        first, last = day_text(days[low]), day_text(days[high - 1])
        labels.append(first if first == last else span(first, last))
        group_of.update(dict.fromkeys(days[low:high], number))
    step = (len(VIRIDIS_5) - 1) / max(groups - 1, 1)
    colours = [VIRIDIS_5[round(i * step)] for i in range(groups)]
    return Colouring(
        key="day",
        name=say("Date"),
        title=say("Sown on"),
        classes=tuple(zip(labels, colours, strict=True)),
        of=tuple(group_of[s.day] for s in sowings),
    )


def _by_slip(sowings: Sequence[BedSowing]) -> Colouring:
    return _by_legend("slip", say("Slip"), slip_legend(), [s.slip for s in sowings])


def _by_ground(sowings: Sequence[BedSowing], units: UnitSystem) -> Colouring:
    """Against the middle of the season, in the steps of the map of a run."""
    middle = median(s.ground_per_turn.value for s in sowings if s.ground_per_turn)
    legend = ground_legend(middle, units)
    return _by_legend(
        "ground", say("Ground per turn"), legend, [s.ground_per_turn for s in sowings]
    )


def _by_legend(
    key: str, name: str, legend: Legend, figures: Sequence[Measured | None]
) -> Colouring:
    return Colouring(
        key=key,
        name=name,
        title=legend.title,
        classes=tuple(zip(legend.labels, legend.colours, strict=True)),
        of=tuple(legend.class_of(figure) for figure in figures),
    )


def along_mode(sowings: Sequence[BedSowing]) -> Colouring:
    """Slip on parts of a pass: the strips themselves stay blank under their parts."""
    whole = _by_slip(sowings)
    return replace(
        whole,
        key="along",
        name=say("Slip along the pass"),
        title=say("Slip on parts of a pass, %"),
        of=(None,) * len(sowings),
    )
