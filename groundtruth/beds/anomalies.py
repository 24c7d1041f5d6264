"""What is odd about a season's sowings: beds sown twice, left out, sown short, or not sure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from itertools import pairwise
from statistics import median

from ..core.beds import SownPass
from .blocks import Block
from .footprints import PlacedPass
from .transition_prior import SOON_S
from .types import Anomaly

SHORT_SHARE = 0.9
"""A sowing shorter than this share of the bed's usual length is said to be short. Our choice."""
SURE = 0.8
"""Below this a pass's bed is said to be unsure. Our choice."""


def _day(sown: SownPass) -> str:
    return sown.day or datetime.fromtimestamp(sown.start_s, UTC).date().isoformat()


def _passes(numbers: Sequence[int]) -> str:
    """Numbers in words: "pass 3", "passes 1 to 4, 7"."""
    spans: list[list[int]] = []
    for number in sorted(numbers):
        if spans and number == spans[-1][1] + 1:
            spans[-1][1] = number
        else:
            spans.append([number, number])
    shown = ", ".join(f"{a}" if a == b else f"{a} to {b}" for a, b in spans)
    return f"{'pass' if len(numbers) == 1 else 'passes'} {shown}"


def anomalies_of(
    blocks: Sequence[Block], placed: Sequence[PlacedPass], keys: Sequence[str]
) -> list[Anomaly]:
    """All that is odd, in order of time; ``keys`` are the runs."""
    found: list[Anomaly] = []
    for block in blocks:
        mine = [(o.sown, o.bed, o.sure) for o in placed if o.block is block]
        by_bed: dict[int, list[tuple[SownPass, float]]] = {}
        for p, j, sure in mine:
            by_bed.setdefault(j, []).append((p, sure))
        for bed, sowings in by_bed.items():
            found += _twice(block, bed, sowings)
            found += _short(block, bed, sowings)
        everything = block.all_beds
        for key in keys:
            here = [(p, j, sure) for p, j, sure in mine if p.run == key]
            if here:
                found += _skipped(block, here, by_bed, everything)
    found += _unsure(placed, keys)
    return sorted(found, key=lambda o: (o.when_s, o.block, o.bed, o.kind))


def _perhaps(sure: float) -> str:
    return "perhaps " if sure < SURE else ""


def _of_pass(kind: str, block: Block, bed: int, sown: SownPass, text: str, sure: float) -> Anomaly:
    return Anomaly(
        kind=kind,
        block=block.name,
        bed=block.bed_name(bed),
        run=sown.run,
        number=sown.number,
        when_s=sown.start_s,
        text=text,
        sure=sure,
    )


def _twice(block: Block, bed: int, sowings: Sequence[tuple[SownPass, float]]) -> list[Anomaly]:
    ordered = sorted(sowings, key=lambda s: s[0].start_s)
    found = []
    for (first, sure1), (second, sure2) in pairwise(ordered):
        if second.start_s - first.start_s <= SOON_S:
            days = [_day(first), _day(second)]
            when = (
                f"on {days[0]}, passes {first.number} and {second.number}"
                if first.run == second.run
                else f"on {days[0]}, pass {first.number}, and {days[1]}, pass {second.number}"
            )
            found.append(
                _of_pass(
                    "sown twice",
                    block,
                    bed,
                    second,
                    f"bed {block.bed_name(bed)} was {_perhaps(min(sure1, sure2))}sown twice {when}",
                    min(sure1, sure2),
                )
            )
    return found


def _short(block: Block, bed: int, sowings: Sequence[tuple[SownPass, float]]) -> list[Anomaly]:
    found = []
    for sown, sure in sowings:
        others = [p.length.value for p, _ in sowings if p is not sown and p.length]
        if sown.length is None or len(others) < 2:
            continue
        usual = median(others)
        if sown.length.value < SHORT_SHARE * usual and usual - sown.length.value > 3 * (
            sown.length.std
        ):
            found.append(
                _of_pass(
                    "short",
                    block,
                    bed,
                    sown,
                    f"bed {block.bed_name(bed)} was sown short on {_day(sown)}: "
                    f"{100 * sown.length.value / usual:.0f} % of its usual length",
                    sure,
                )
            )
    return found


def _skipped(
    block: Block,
    here: Sequence[tuple[SownPass, int, float]],
    by_bed: Mapping[int, Sequence[tuple[SownPass, float]]],
    everything: set[int],
) -> list[Anomaly]:
    """Beds left out between two that this run sowed, and not sown by another soon."""
    beds = {j for _, j, _ in here}
    found = []
    for bed in sorted(everything - beds):
        beside = [(p, s) for p, j, s in here if abs(j - bed) == 1]
        if len(beside) < 2 or not min(beds) < bed < max(beds):
            continue
        when = beside[0][0].start_s
        day = _day(beside[0][0])
        if any(abs(p.start_s - when) <= SOON_S for p, _ in by_bed.get(bed, ())):
            continue
        name, sure = block.bed_name(bed), min(s for _, s in beside)
        found.append(
            Anomaly(
                kind="skipped",
                block=block.name,
                bed=name,
                run=beside[0][0].run,
                number=0,
                when_s=when,
                text=f"bed {name} was {_perhaps(sure)}left out on {day}, its neighbours were sown",
                sure=sure,
            )
        )
    return found


def _unsure(placed: Sequence[PlacedPass], keys: Sequence[str]) -> list[Anomaly]:
    """One line for each run and block with passes whose bed is not sure."""
    found = []
    for key in keys:
        for block in {o.block.number: o.block for o in placed if o.sown.run == key}.values():
            here = [
                (o.sown, o.bed, o.sure) for o in placed if o.sown.run == key and o.block is block
            ]
            doubtful = [(p, j, s) for p, j, s in here if s < SURE]
            if doubtful:
                worst = min(doubtful, key=lambda d: d[2])
                found.append(
                    _of_pass(
                        "unsure",
                        block,
                        worst[1],
                        worst[0],
                        f"block {block.name}, {_day(worst[0])}: which bed was sown is not "
                        f"sure for {_passes([p.number for p, _, _ in doubtful])}; write the beds "
                        "into that day's turn sheet and add the run again with --replace",
                        worst[2],
                    )
                )
    return found
