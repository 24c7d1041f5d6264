"""The anomalies of a season: beds sown twice, left out or sown short, and doubtful beds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from itertools import pairwise
from statistics import median

from ..core.beds import SownPass
from .blocks import Block
from .footprints import PlacedPass
from .transition_prior import SOON_S
from .types import Anomaly, AnomalyKind, PassReference

SHORT_SHARE = 0.9
"""A sowing shorter than this share of the bed's usual length is short. Our choice."""
SURE = 0.8
"""A pass whose bed has less than this posterior probability is unsure. Our choice."""

_Found = tuple[float, Anomaly]
"""An anomaly with the instant to put it in order by (s)."""


def anomalies_of(
    blocks: Sequence[Block], placed: Sequence[PlacedPass], keys: Sequence[str]
) -> list[Anomaly]:
    """All anomalies in order of time; ``keys`` are the runs."""
    found: list[_Found] = []
    for block in blocks:
        mine = [o for o in placed if o.block is block]
        by_bed: dict[int, list[PlacedPass]] = {}
        for one in mine:
            by_bed.setdefault(one.bed, []).append(one)
        for sowings in by_bed.values():
            found += _sown_twice(sowings)
            found += _short(sowings)
        for key in keys:
            found += _skipped(block, [o for o in mine if o.sown.run == key], by_bed)
    found += _unsure(placed, keys)
    found.sort(key=lambda f: (f[0], f[1].block, f[1].bed, f[1].kind))
    return [anomaly for _, anomaly in found]


def _day(sown: SownPass) -> str:
    return sown.day or datetime.fromtimestamp(sown.start_s, UTC).date().isoformat()


def _about(
    kind: AnomalyKind,
    one: PlacedPass,
    *,
    sure: float,
    passes: Sequence[int] | None = None,
    bed: int | None = None,
    earlier: PassReference | None = None,
    share: float | None = None,
) -> _Found:
    """An anomaly of a pass, or of others beside it."""
    return one.sown.start_s, Anomaly(
        kind=kind,
        block=one.block.name,
        bed=one.block.bed_name(one.bed if bed is None else bed),
        run=one.sown.run,
        day=_day(one.sown),
        passes=(one.sown.number,) if passes is None else tuple(passes),
        sure=sure,
        earlier=earlier,
        share=share,
    )


def _sown_twice(sowings: Sequence[PlacedPass]) -> list[_Found]:
    """A bed that was sown again sooner than anybody means to."""
    ordered = sorted(sowings, key=lambda o: o.sown.start_s)
    return [
        _about(
            AnomalyKind.SOWN_TWICE,
            second,
            sure=min(first.sure, second.sure),
            earlier=PassReference(
                run=first.sown.run, day=_day(first.sown), number=first.sown.number
            ),
        )
        for first, second in pairwise(ordered)
        if second.sown.start_s - first.sown.start_s <= SOON_S
    ]


def _short(sowings: Sequence[PlacedPass]) -> list[_Found]:
    """Sowings measurably shorter than the others of the bed."""
    found = []
    for one in sowings:
        length = one.sown.length
        others = [o.sown.length.value for o in sowings if o is not one and o.sown.length]
        if length is None or len(others) < 2:
            continue
        usual = median(others)
        if length.value < SHORT_SHARE * usual and usual - length.value > 3 * length.std:
            share = length.value / usual
            found.append(_about(AnomalyKind.SHORT, one, sure=one.sure, share=share))
    return found


def _skipped(
    block: Block, here: Sequence[PlacedPass], by_bed: Mapping[int, Sequence[PlacedPass]]
) -> list[_Found]:
    """Beds left out between two that a run sowed, and not sown by another soon."""
    beds = {o.bed for o in here}
    found = []
    for bed in sorted(block.all_beds - beds):
        beside = [o for o in here if abs(o.bed - bed) == 1]
        if len(beside) < 2 or not min(beds) < bed < max(beds):
            continue
        when = beside[0].sown.start_s
        if any(abs(o.sown.start_s - when) <= SOON_S for o in by_bed.get(bed, ())):
            continue
        sure = min(o.sure for o in beside)
        found.append(_about(AnomalyKind.SKIPPED, beside[0], sure=sure, passes=(), bed=bed))
    return found


def _unsure(placed: Sequence[PlacedPass], keys: Sequence[str]) -> list[_Found]:
    """One for each run and block with passes whose bed is not sure, about the least sure."""
    found = []
    for key in keys:
        mine = [o for o in placed if o.sown.run == key]
        for block in {o.block.number: o.block for o in mine}.values():
            doubtful = [o for o in mine if o.block is block and o.sure < SURE]
            if doubtful:
                worst = min(doubtful, key=lambda o: o.sure)
                numbers = [o.sown.number for o in doubtful]
                found.append(
                    _about(AnomalyKind.UNSURE, worst, sure=worst.sure, passes=sorted(numbers))
                )
    return found
