"""The ways to colour a season's strips: by setting, crop, day, slip or ground per turn.

Names take the colours of M. Okabe & K. Ito, "Color Universal Design" (2008), told apart by
red-green blind eyes too; slip and ground per turn those of the map of a run (see
`fieldmap.colours`).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median

from ...core.display import PERCENT, day_text, ground_scale
from ...core.measured import Measured
from ...core.run import UnitSystem
from ...core.safe_text import visible
from ...season.query import Sowing
from .classes import GROUND_LIMITS, MOST_STD, PUOR_5, SLIP_LIMITS, UNSURE, VIRIDIS_5

OKABE_ITO = ("#e69f00", "#56b4e9", "#009e73", "#f0e442", "#0072b2", "#d55e00", "#cc79a7", "#4d4d4d")
OTHERS = "#b4babb"
_NAME = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Mode:
    """One way to colour: legend title, (label, colour) of each class, and the class of each strip.

    A class of None is "not known", `UNSURE` too unsure to say.
    """

    key: str
    name: str
    title: str
    classes: tuple[tuple[str, str], ...]
    of: tuple[int | None, ...]


def modes_for(sowings: Sequence[Sowing], units: UnitSystem) -> list[Mode]:
    """All the ways that these strips can be coloured in."""
    found = [
        _by_name("crop", "Crop", sowings, lambda s: s.crop),
        _by_name("setting", "Setting", sowings, lambda s: s.setting),
        _by_day(sowings),
    ]
    if any(s.slip for s in sowings):
        found.append(_by_slip(sowings))
    if any(s.ground_per_turn for s in sowings):
        found.append(_by_ground(sowings, units))
    return [m for m in found if any(c is not None for c in m.of)]


def _by_name(
    key: str, name: str, sowings: Sequence[Sowing], value: Callable[[Sowing], str]
) -> Mode:
    """The commonest eight names have a colour each, the others share one."""
    counted = Counter(value(s) for s in sowings if value(s))
    names = sorted(n for n, _ in counted.most_common(len(OKABE_ITO)))
    classes = [(visible(n, _NAME), c) for n, c in zip(names, OKABE_ITO, strict=False)]
    if len(counted) > len(names):
        classes.append(("others", OTHERS))
    index = {n: i for i, n in enumerate(names)}
    of = tuple(index.get(value(s), len(names)) if value(s) else None for s in sowings)
    return Mode(key=key, name=name, title=name, classes=tuple(classes), of=of)


def _by_day(sowings: Sequence[Sowing]) -> Mode:
    """Days in order, in up to five groups of about as many days; light is early."""
    days = sorted({s.day for s in sowings})
    groups = min(len(days), len(VIRIDIS_5))
    edges = [round(i * len(days) / groups) for i in range(groups + 1)] if groups else [0]
    labels, group_of = [], {}
    for number, (low, high) in enumerate(pairwise(edges)):
        first, last = day_text(days[low]), day_text(days[high - 1])
        labels.append(first if first == last else f"{first} to {last}")
        group_of.update(dict.fromkeys(days[low:high], number))
    step = (len(VIRIDIS_5) - 1) / max(groups - 1, 1)
    colours = [VIRIDIS_5[round(i * step)] for i in range(groups)]
    return Mode(
        key="day",
        name="Date",
        title="Sown on",
        classes=tuple(zip(labels, colours, strict=True)),
        of=tuple(group_of[s.day] for s in sowings),
    )


def _class(value: Measured | None, limits: Sequence[float], most_std: float) -> int | None:
    if value is None:
        return None
    if value.std > most_std:
        return UNSURE
    return sum(value.value >= limit for limit in limits)


def _labels(limits: Sequence[str]) -> list[str]:
    between = [f"{low} to {high}" for low, high in pairwise(limits)]
    return [f"under {limits[0]}", *between, f"{limits[-1]} and over"]


def _by_slip(sowings: Sequence[Sowing]) -> Mode:
    labels = _labels([PERCENT.number(limit, 0) for limit in SLIP_LIMITS])
    return Mode(
        key="slip",
        name="Slip",
        title="Slip, % of the ground covered",
        classes=tuple(zip(labels, VIRIDIS_5, strict=True)),
        of=tuple(_class(s.slip, SLIP_LIMITS, MOST_STD) for s in sowings),
    )


def spot_classes(spots: Sequence[Measured]) -> list[int | None]:
    """The class of each part in the mode of slip along the pass."""
    return [_class(slip, SLIP_LIMITS, MOST_STD) for slip in spots]


def along_mode(sowings: Sequence[Sowing]) -> Mode:
    """Slip on parts of a pass: the strips themselves stay blank under their parts."""
    whole = _by_slip(sowings)
    return Mode(
        key="along",
        name="Slip along the pass",
        title="Slip on parts of a pass, %",
        classes=whole.classes,
        of=(None,) * len(sowings),
    )


def _by_ground(sowings: Sequence[Sowing], units: UnitSystem) -> Mode:
    """Against the middle of the season, in the steps of the map of a run."""
    ground = ground_scale(units)
    middle = median(s.ground_per_turn.value for s in sowings if s.ground_per_turn)
    limits = [middle * (1 + share) for share in GROUND_LIMITS]
    places = max(1, ground.places(middle * 0.01))
    labels = _labels([ground.number(limit, places) for limit in limits])
    return Mode(
        key="ground",
        name="Ground per turn",
        title=f"Ground per gear turn, {ground.unit}",
        classes=tuple(zip(labels, PUOR_5, strict=True)),
        of=tuple(_class(s.ground_per_turn, limits, MOST_STD * middle) for s in sowings),
    )
