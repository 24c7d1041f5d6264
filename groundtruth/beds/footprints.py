"""The ground of each pass as a strip on its bed, and the beds themselves, as polygons."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING

from ..core.beds import BlockBed, SownPass
from .blocks import Block
from .types import Strip

if TYPE_CHECKING:
    from shapely import Polygon

WHOLE = 0.9
"""A sowing of at least this share of the bed's usual length is one of the whole bed. Our choice."""

Span = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedPass:
    """A pass on its bed, and how sure that is."""

    sown: SownPass
    block: Block
    bed: int
    sure: float


def strips_and_beds(
    placed: Sequence[PlacedPass], blocks: Sequence[Block]
) -> tuple[tuple[Strip, ...], tuple[BlockBed, ...]]:
    """Strips in the order of ``placed``; beds by block, in order across it."""
    shifts = _shifts(placed)
    spans: dict[tuple[int, int], list[Span]] = {}
    lengths: dict[tuple[int, int], list[float]] = {}
    for one in placed:
        span = _own_span(one, shifts)
        spans.setdefault(_bed(one), []).append(span)
        lengths.setdefault(_bed(one), []).append(_length(one.sown, span))
    usual = {bed: (median(s[0] for s in v), median(s[1] for s in v)) for bed, v in spans.items()}
    strips = []
    for one in placed:
        span = _own_span(one, shifts)
        share = _length(one.sown, span) / median(lengths[_bed(one)])
        # the phone's error along the bed says nothing of where the bed ends
        drawn = usual[_bed(one)] if share >= WHOLE else span
        strips.append(_strip(one, drawn))
    return tuple(strips), tuple(_beds(blocks, placed, usual))


def _bed(one: PlacedPass) -> tuple[int, int]:
    return one.block.number, one.bed


def _length(sown: SownPass, span: Span) -> float:
    return sown.length.value if sown.length else span[1] - span[0]


def _own_span(one: PlacedPass, shifts: Mapping[tuple[str, int], float]) -> Span:
    """From where to where along the bed a pass was sown, less its day's offset [m]."""
    low, high = _ends_m(one.sown, one.block)
    shift = shifts[one.sown.run, one.block.number]
    return low - shift, high - shift


def _width(sown: SownPass, block: Block) -> float:
    return sown.width_m or 0.75 * block.spacing_m


def _ends_m(sown: SownPass, block: Block) -> tuple[float, float]:
    """From where to where along the bed the row units sowed: they follow the antenna."""
    along, _ = block.in_metres(sown.axis)
    back = block.direction(sown) * sown.ahead_m
    return float(along.min()) - back, float(along.max()) - back


def _shifts(placed: Sequence[PlacedPass]) -> dict[tuple[str, int], float]:
    """How far each run lies off along each block's beds [m]: its phone's offset of the day."""
    middles: dict[tuple[int, int], list[float]] = {}
    for one in placed:
        middle = sum(_ends_m(one.sown, one.block)) / 2
        middles.setdefault((one.block.number, one.bed), []).append(middle)
    away: dict[tuple[str, int], list[float]] = {}
    for one in placed:
        usual = median(middles[one.block.number, one.bed])
        off = sum(_ends_m(one.sown, one.block)) / 2 - usual
        away.setdefault((one.sown.run, one.block.number), []).append(off)
    return {key: median(values) for key, values in away.items()}


def _outline(block: Block, bed: int, ends: Span, width_m: float) -> Polygon:
    """A rectangle on a bed, counter-clockwise [RFC 7946, 3.1.6] from its low end."""
    from shapely import Polygon

    (low, high), middle, half = ends, block.bed_across_m(bed), width_m / 2
    left, right = middle - half, middle + half
    return Polygon(block.in_degrees([low, low, high, high], [left, right, right, left]))


def _strip(one: PlacedPass, span: Span) -> Strip:
    sown, block = one.sown, one.block
    width, length = _width(sown, block), _length(sown, span)
    return Strip(
        run=sown.run,
        number=sown.number,
        block=block.name,
        bed=block.bed_name(one.bed),
        sure=one.sure,
        outline=_outline(block, one.bed, span, width),
        length_m=length,
        width_m=width,
        area_m2=length * width,
        rows=sown.rows,
        crop=sown.crop,
        setting=sown.setting,
        start_s=sown.start_s,
    )


def _beds(
    blocks: Sequence[Block], placed: Sequence[PlacedPass], usual: Mapping[tuple[int, int], Span]
) -> list[BlockBed]:
    sown: dict[tuple[int, int], list[SownPass]] = {}
    for one in placed:
        sown.setdefault(_bed(one), []).append(one.sown)
    found = []
    for block in blocks:
        all_beds = sorted(block.all_beds)
        for bed in all_beds:
            mine = sown.get((block.number, bed), [])
            mapped = block.mapped.get(bed)
            if mine:
                ends = usual[block.number, bed]
                width = median(_width(p, block) for p in mine)
            else:
                assert mapped is not None
                along, _ = block.in_metres(mapped.ends)
                ends = float(along.min()), float(along.max())
                width = mapped.width_m or 0.75 * block.spacing_m
            found.append(
                BlockBed(
                    name=block.bed_name(bed),
                    block=block.name,
                    place=bed - all_beds[0] + 1,
                    outline=_outline(block, bed, ends, width),
                    mapped=mapped is not None,
                    sowings=len(mine),
                )
            )
    return found
