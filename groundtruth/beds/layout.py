"""Lay the runs of a season out on their beds, day by day, and say what is odd."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from itertools import pairwise
from statistics import median

from .align import SOON_S, align
from .blocks import RECEIVER_M, Block, blocks_of_map, parts_of
from .contract import Bed, Fit, Layout, LonLat, MapBed, Oddity, SownPass, Strip

SHORT_SHARE = 0.9
"""A sowing shorter than this share of the bed's usual length is said to be short. Our choice."""
SURE = 0.8
"""Below this a pass's bed is said to be unsure. Our choice."""


def lay_out(
    runs: Mapping[str, Sequence[SownPass]],
    *,
    beds: Sequence[MapBed] = (),
    known: Mapping[str, Sequence[Fit]] | None = None,
) -> Layout:
    """Beds, strips and oddities of all runs.

    Runs are taken in order of time, each against what the earlier ones taught, so that the outcome
    does not depend on the order in which they were recorded.

    Parameters
    ----------
    runs : the passes of each run by its key.
    beds : the grower's own map, if there is one.
    known : fits kept from before; used up to the first run that has none.
    """
    known = dict(known or {})
    blocks = blocks_of_map(beds)
    fits: dict[str, tuple[Fit, ...]] = {}
    placed: list[tuple[SownPass, Block, int, float]] = []
    keys = sorted(runs, key=lambda key: (min(p.start_s for p in runs[key]), key))
    for key in keys:
        kept = {fit.block: fit for fit in known.get(key, ())}
        if not kept:
            known = {}  # what follows was fitted without this run
        found = []
        for number, passes in parts_of(runs[key], blocks).items():
            block = blocks[number]
            fit = kept.get(number)
            if fit is None or fit.passes != tuple(p.number for p in passes):
                fit = _fit(block, passes)
            block.learn(passes, fit)
            placed += [
                (p, block, bed, sure)
                for p, bed, sure in zip(passes, fit.beds, fit.sure, strict=True)
            ]
            found.append(fit)
        fits[key] = tuple(found)
    shifts = _shifts(placed)
    strips = tuple(_strip(*one, shifts[one[0].run, one[1].number]) for one in placed)
    return Layout(
        beds=tuple(_beds(blocks, placed)),
        strips=strips,
        oddities=tuple(_oddities(blocks, placed, runs, keys)),
        fits=fits,
    )


def _fit(block: Block, passes: Sequence[SownPass]) -> Fit:
    spacing = next((p.bed_spacing_m for p in passes if p.bed_spacing_m), None)
    found = align(
        [block.trace(p) for p in passes],
        block.pattern(spacing),
        receiver=median(p.scatter_m for p in passes) < RECEIVER_M,
    )
    return Fit(
        block=block.number,
        passes=tuple(p.number for p in passes),
        beds=found.beds,
        sure=found.sure,
        offset=found.offset,
        spacing=found.spacing,
    )


def _width(sown: SownPass, block: Block) -> float:
    if sown.width_m:
        return sown.width_m
    return 0.75 * (block.spacing.value if block.spacing else 1.5)


def _ends_m(sown: SownPass, block: Block) -> tuple[float, float]:
    """From where to where along the bed the row units sowed: they follow the antenna."""
    along, _ = block.in_metres(sown.axis)
    back = block.forth(sown) * sown.ahead_m
    return float(along.min()) - back, float(along.max()) - back


def _shifts(
    placed: Sequence[tuple[SownPass, Block, int, float]],
) -> dict[tuple[str, int], float]:
    """How far each run lies off along each block's beds [m]: its phone's offset of the day."""
    middles: dict[tuple[int, int], list[float]] = {}
    for sown, block, bed, _ in placed:
        middles.setdefault((block.number, bed), []).append(sum(_ends_m(sown, block)) / 2)
    away: dict[tuple[str, int], list[float]] = {}
    for sown, block, bed, _ in placed:
        usual = median(middles[block.number, bed])
        off = sum(_ends_m(sown, block)) / 2 - usual
        away.setdefault((sown.run, block.number), []).append(off)
    return {key: median(values) for key, values in away.items()}


def _ring(block: Block, bed: int, ends: tuple[float, float], width_m: float) -> tuple[LonLat, ...]:
    middle, half = block.place_m(bed), width_m / 2
    low, high = ends
    along = [low, low, high, high, low]  # counter-clockwise [RFC 7946, 3.1.6]
    across = [middle - half, middle + half, middle + half, middle - half, middle - half]
    return tuple(block.in_degrees(along, across))


def _strip(sown: SownPass, block: Block, bed: int, sure: float, shift_m: float) -> Strip:
    low, high = _ends_m(sown, block)
    ends, width = (low - shift_m, high - shift_m), _width(sown, block)
    length = sown.length.value if sown.length else ends[1] - ends[0]
    return Strip(
        run=sown.run,
        number=sown.number,
        block=block.name,
        bed=block.bed_name(bed),
        sure=sure,
        outline=_ring(block, bed, ends, width),
        length_m=length,
        width_m=width,
        area_m2=length * width,
        rows=sown.rows,
        crop=sown.crop,
        setting=sown.setting,
        start_s=sown.start_s,
    )


def _beds(
    blocks: Sequence[Block], placed: Sequence[tuple[SownPass, Block, int, float]]
) -> list[Bed]:
    found = []
    for block in blocks:
        all_beds = sorted(block.ever_sown | block.mapped.keys())
        for bed in all_beds:
            mine = [p for p, b, j, _ in placed if b is block and j == bed]
            mapped = block.mapped.get(bed)
            if mine:
                spans = [_ends_m(p, block) for p in mine]
                ends = median(s[0] for s in spans), median(s[1] for s in spans)
                width = median(_width(p, block) for p in mine)
            else:
                assert mapped is not None
                along, _ = block.in_metres(mapped.ends)
                ends = float(along.min()), float(along.max())
                width = mapped.width_m or 0.75 * (block.spacing.value if block.spacing else 1.5)
            found.append(
                Bed(
                    name=block.bed_name(bed),
                    block=block.name,
                    place=bed - all_beds[0] + 1,
                    outline=_ring(block, bed, ends, width),
                    mapped=mapped is not None,
                    sowings=len(mine),
                )
            )
    return found


def _day(when_s: float) -> str:
    return datetime.fromtimestamp(when_s, UTC).date().isoformat()


def _oddities(
    blocks: Sequence[Block],
    placed: Sequence[tuple[SownPass, Block, int, float]],
    runs: Mapping[str, Sequence[SownPass]],
    keys: Sequence[str],
) -> list[Oddity]:
    found: list[Oddity] = []
    for block in blocks:
        mine = [(p, j, sure) for p, b, j, sure in placed if b is block]
        by_bed: dict[int, list[tuple[SownPass, float]]] = {}
        for p, j, sure in mine:
            by_bed.setdefault(j, []).append((p, sure))
        for bed, sowings in by_bed.items():
            found += _twice(block, bed, sowings)
            found += _short(block, bed, sowings)
        everything = block.ever_sown | block.mapped.keys()
        for key in keys:
            here = [(p, j, sure) for p, j, sure in mine if p.run == key]
            if here:
                found += _skipped(block, here, by_bed, everything)
    found += _unsure(placed, keys)
    return sorted(found, key=lambda o: (o.when_s, o.block, o.bed, o.kind))


def _perhaps(sure: float) -> str:
    return "perhaps " if sure < SURE else ""


def _twice(block: Block, bed: int, sowings: Sequence[tuple[SownPass, float]]) -> list[Oddity]:
    ordered = sorted(sowings, key=lambda s: s[0].start_s)
    found = []
    for (first, sure1), (second, sure2) in pairwise(ordered):
        if second.start_s - first.start_s <= SOON_S:
            days = [_day(first.start_s), _day(second.start_s)]
            when = f"on {days[0]}" if days[0] == days[1] else f"on {days[0]} and {days[1]}"
            found.append(
                Oddity(
                    kind="sown twice",
                    block=block.name,
                    bed=block.bed_name(bed),
                    run=second.run,
                    number=second.number,
                    when_s=second.start_s,
                    text=f"bed {block.bed_name(bed)} was {_perhaps(min(sure1, sure2))}sown twice "
                    f"{when} "
                    f"(passes {first.number} and {second.number})",
                    sure=min(sure1, sure2),
                )
            )
    return found


def _short(block: Block, bed: int, sowings: Sequence[tuple[SownPass, float]]) -> list[Oddity]:
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
                Oddity(
                    kind="short",
                    block=block.name,
                    bed=block.bed_name(bed),
                    run=sown.run,
                    number=sown.number,
                    when_s=sown.start_s,
                    text=f"bed {block.bed_name(bed)}: {sown.length.value:.0f} m sown on "
                    f"{_day(sown.start_s)}, usually {usual:.0f} m",
                    sure=sure,
                )
            )
    return found


def _skipped(
    block: Block,
    here: Sequence[tuple[SownPass, int, float]],
    by_bed: Mapping[int, Sequence[tuple[SownPass, float]]],
    everything: set[int],
) -> list[Oddity]:
    """Beds left out between two that this run sowed, and not sown by another soon."""
    beds = {j for _, j, _ in here}
    found = []
    for bed in sorted(everything - beds):
        beside = [(p, s) for p, j, s in here if abs(j - bed) == 1]
        if len(beside) < 2 or not min(beds) < bed < max(beds):
            continue
        when = beside[0][0].start_s
        if any(abs(p.start_s - when) <= SOON_S for p, _ in by_bed.get(bed, ())):
            continue
        name, sure = block.bed_name(bed), min(s for _, s in beside)
        found.append(
            Oddity(
                kind="skipped",
                block=block.name,
                bed=name,
                run=beside[0][0].run,
                number=0,
                when_s=when,
                text=f"bed {name} was {_perhaps(sure)}left out on {_day(when)}, its neighbours "
                "were sown",
                sure=sure,
            )
        )
    return found


def _unsure(
    placed: Sequence[tuple[SownPass, Block, int, float]], keys: Sequence[str]
) -> list[Oddity]:
    """One line for each run and block with passes whose bed is not sure."""
    found = []
    for key in keys:
        for block in {b.number: b for p, b, _, _ in placed if p.run == key}.values():
            here = [(p, j, s) for p, b, j, s in placed if p.run == key and b is block]
            doubtful = [(p, j, s) for p, j, s in here if s < SURE]
            if doubtful:
                worst = min(doubtful, key=lambda d: d[2])
                numbers = ", ".join(str(p.number) for p, _, _ in doubtful)
                found.append(
                    Oddity(
                        kind="unsure",
                        block=block.name,
                        bed=block.bed_name(worst[1]),
                        run=key,
                        number=worst[0].number,
                        when_s=worst[0].start_s,
                        text=f"block {block.name}, {_day(worst[0].start_s)}: which bed passes "
                        f"{numbers} lie on is not sure (the least sure with {worst[2]:.0%}); "
                        "write the bed into the turn sheet",
                        sure=worst[2],
                    )
                )
    return found
