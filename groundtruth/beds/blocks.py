"""Blocks of beds: where each lies, and which passes lie in it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from ..core.beds import LonLat, MapBed, SownPass
from ..core.measured import Measured
from ..core.plane import Axis, Plane
from .block_knowledge import BlockKnowledge
from .types import BlockPrior, PassObservation

LINK_M = 9.0
"""A pass within this of a block's passes, and along them, belongs to the block: three beds of the
usual width with the phone's error. Blocks lie farther apart (headland, path). Our choice."""
STRAY_M, MOST_STRAYS = 15.0, 2
"""So few passes so near to a block that the same day sowed besides are no block of their own: a
phone may begin its day 10 m off. Our choice."""
LINK_DEG = 15.0
DRAWN_STD_M = 2.5
"""How well the length of a bed on a map is that of its sowing, until it was sown. Our choice."""
LEAST_OVERLAP = 0.3
USUAL_SPACING_M = 1.5
ALIKE_SPACING = 0.1
"""Bed spacings that two seeders say are those of the same beds within this share. Our choice."""
RECEIVER_M = 0.12
"""Scatter about a pass's own line (m) below which positions are good to centimetres."""


@dataclass(slots=True, kw_only=True)
class Block:
    """A block under construction. Metres are along the beds and across them, about its origin.

    ``along_m`` and ``across_m`` are its least and greatest so far; mappings are by bed.
    ``said_spacing_m`` is the bed spacing that the first of its ``seeders`` says.
    """

    number: int
    plane: Plane
    axis_deg: float
    name: str = ""
    mapped: dict[int, MapBed] = field(default_factory=dict)
    along_m: list[float] = field(default_factory=lambda: [np.inf, -np.inf])
    across_m: list[float] = field(default_factory=lambda: [np.inf, -np.inf])
    drawn: dict[int, Measured] = field(default_factory=dict)
    mapped_across_m: dict[int, float] = field(default_factory=dict)
    knowledge: BlockKnowledge = field(default_factory=BlockKnowledge)
    said_spacing_m: float | None = None
    seeders: set[str] = field(default_factory=set)

    def is_for(self, passes: Sequence[SownPass]) -> bool:
        """Whether a run may lie in the block: another seeder with another bed spacing sows beds of
        its own on the same ground."""
        spacing_m, named = bed_spacing_said_m(passes), {*self.seeders, passes[0].seeder} - {""}
        if self.mapped or spacing_m is None or self.said_spacing_m is None or len(named) < 2:
            return True
        return abs(spacing_m - self.said_spacing_m) <= ALIKE_SPACING * self.said_spacing_m

    def note(self, passes: Sequence[SownPass]) -> None:
        """Note whose passes lie in the block (in place)."""
        self.seeders.add(passes[0].seeder)
        if self.said_spacing_m is None:
            self.said_spacing_m = bed_spacing_said_m(passes)

    def in_metres(self, positions: Sequence[LonLat]) -> tuple[np.ndarray, np.ndarray]:
        """Along and across the beds [m], each (n,), of positions in degrees."""
        lon, lat = np.array(positions, dtype=float).reshape(-1, 2).T
        east, north = self.plane.to_metres(lon, lat)
        axis = Axis.towards(self.axis_deg)
        return axis.along(east, north), axis.across(east, north)

    def in_degrees(self, along_m: Sequence[float], across_m: Sequence[float]) -> list[LonLat]:
        """Positions in degrees of points in the block's metres."""
        along, across = np.asarray(along_m, dtype=float), np.asarray(across_m, dtype=float)
        lon, lat = self.plane.to_degrees(*Axis.towards(self.axis_deg).from_origin(along, across))
        return [(float(a), float(b)) for a, b in zip(lon, lat, strict=True)]

    def direction(self, sown: SownPass) -> int:
        """1 where a pass is driven along the block's axis, −1 against it."""
        along, _ = self.in_metres(sown.axis)
        return 1 if along[1] >= along[0] else -1

    def distance_m(self, axis: tuple[LonLat, LonLat]) -> float:
        """How far across [m] a line lies from the block, infinite where it is not along it."""
        along, across = self.in_metres(axis)
        length = float(np.hypot(along[1] - along[0], across[1] - across[0]))
        slant = np.degrees(np.arctan2(abs(across[1] - across[0]), abs(along[1] - along[0])))
        low, high = float(along.min()), float(along.max())
        shared = min(high, self.along_m[1]) - max(low, self.along_m[0])
        if slant > LINK_DEG or shared < LEAST_OVERLAP * min(
            length, self.along_m[1] - self.along_m[0]
        ):
            return float("inf")
        middle = float(across.mean())
        return max(self.across_m[0] - middle, middle - self.across_m[1], 0.0)

    def extend_to(self, axis: tuple[LonLat, LonLat]) -> None:
        """Extend the block to a line (in place)."""
        along, across = self.in_metres(axis)
        middle = float(across.mean())
        self.along_m = [
            min(self.along_m[0], *along.tolist()),
            max(self.along_m[1], *along.tolist()),
        ]
        self.across_m = [min(self.across_m[0], middle), max(self.across_m[1], middle)]

    def straighten(self, axes: Sequence[tuple[LonLat, LonLat]]) -> None:
        """Turn the axis to the mean of a first day's passes (in place): one alone is bent."""
        along, across = (np.array(v) for v in zip(*map(self.in_metres, axes), strict=True))
        direction = np.sign(along[:, 1] - along[:, 0])
        reach = direction @ (along[:, 1] - along[:, 0])
        self.axis_deg += float(
            np.degrees(np.arctan2(direction @ (across[:, 1] - across[:, 0]), reach))
        )
        self.along_m, self.across_m = [np.inf, -np.inf], [np.inf, -np.inf]
        for axis in axes:
            self.extend_to(axis)

    def observation(self, sown: SownPass) -> PassObservation:
        """A pass as the tracker takes it: the middle of the seeder across the block."""
        _, across = self.in_metres([(lon, lat) for _, lon, lat in sown.positions])
        return PassObservation(
            time_s=np.array([t for t, _, _ in sown.positions]),
            across_m=across - self.direction(sown) * sown.right_m,
            name=sown.bed_name,
            length=sown.length,
            length_scale_u=sown.length_scale_u,
        )

    def prior(
        self, knowledge: BlockKnowledge, bed_spacing_m: float | None, seeder: str
    ) -> BlockPrior:
        """What is known before a day of a seeder is assigned."""
        own_beds, at_edge = knowledge.of(seeder)
        spacing = knowledge.spacing
        if spacing is None and bed_spacing_m is not None:
            spacing = Measured(bed_spacing_m, 0.02 * bed_spacing_m)
        scatter_m2, freedom = knowledge.lengths.scatter()
        return BlockPrior(
            spacing=spacing,
            last_sown_s=dict(knowledge.last_sown_s),
            at_edge=at_edge,
            names=dict(knowledge.names),
            mapped_across_m=dict(self.mapped_across_m),
            lengths=knowledge.lengths.known(self.drawn),
            scatter_m2=scatter_m2,
            scatter_freedom=freedom,
            origin_m=knowledge.origin_m,
            own_beds=own_beds,
        )

    def from_map(self) -> BlockKnowledge:
        """What the grower's map says before any day."""
        spacing = None
        if len(self.mapped_across_m) > 1:
            gap = float(np.median(np.diff(sorted(self.mapped_across_m.values()))))
            spacing = Measured(gap, 0.005 * gap)
        return BlockKnowledge(
            spacing=spacing, names={bed.name: j for j, bed in self.mapped.items()}
        )

    def bed_across_m(self, bed: int) -> float:
        """Where a bed's middle lies across the block [m]."""
        origin = self.knowledge.origin_m
        if bed in self.mapped_across_m:
            return origin + self.mapped_across_m[bed]
        if self.mapped_across_m:
            near = min(self.mapped_across_m, key=lambda j: abs(j - bed))
            return origin + self.mapped_across_m[near] + (bed - near) * self.spacing_m
        return origin + bed * self.spacing_m

    @property
    def spacing_m(self) -> float:
        """From bed to bed, the usual where nothing is known."""
        return self.knowledge.spacing.value if self.knowledge.spacing else USUAL_SPACING_M

    @property
    def all_beds(self) -> set[int]:
        """Beds sown so far and those of the map."""
        return self.knowledge.last_sown_s.keys() | self.mapped.keys()

    def bed_name(self, bed: int) -> str:
        """The grower's name for a bed, else the block's name with its number across the block."""
        for name, j in self.knowledge.names.items():
            if j == bed:
                return name
        return f"{self.name}{bed - min(self.all_beds) + 1}"


def bed_spacing_said_m(passes: Sequence[SownPass]) -> float | None:
    """The bed spacing that the description of a run says, None where it says none. [m]"""
    return next((p.bed_spacing_m for p in passes if p.bed_spacing_m), None)


def block_about(number: int, axis: tuple[LonLat, LonLat], name: str) -> Block:
    """A new block about a first line. Across counts from west to east, or from north to south."""
    plane = Plane(longitude_deg=axis[0][0], latitude_deg=axis[0][1])
    east, north = plane.to_metres(*np.array(axis).T)
    angle = np.degrees(np.arctan2(east[1] - east[0], north[1] - north[0])) % 180
    if angle > 105:  # so that "across" points east, or south
        angle += 180
    return Block(number=number, plane=plane, axis_deg=float(angle), name=name)


def letters(number: int) -> str:
    """A, B, … Z, AA, AB, … for 0, 1, …"""
    text = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        text = chr(65 + rest) + text
    return text


def blocks_of_map(beds: Sequence[MapBed]) -> list[Block]:
    """The blocks of the grower's map: by their block's name, beds in order across."""
    found: list[Block] = []
    for name in dict.fromkeys(b.block for b in beds):
        mine = [b for b in beds if b.block == name]
        block = block_about(len(found), mine[0].ends, name or letters(len(found)))
        middles = [float(block.in_metres(b.ends)[1].mean()) for b in mine]
        for j, i in enumerate(np.argsort(middles).tolist()):
            block.mapped[j] = mine[i]
            block.mapped_across_m[j] = middles[i]
            along, _ = block.in_metres(mine[i].ends)
            block.drawn[j] = Measured(float(np.ptp(along)), DRAWN_STD_M)
            block.extend_to(mine[i].ends)
        if len(mine) == 1:
            block.mapped_across_m = {}
        block.knowledge = block.from_map()
        found.append(block)
    return found


def parts_of(passes: Sequence[SownPass], blocks: list[Block]) -> dict[int, list[SownPass]]:
    """The passes of one run by block number; new blocks are added to ``blocks``.

    The nearest pass is taken first and takes its neighbours along: passes of one day share their
    phone's error, so that a day that is far off still comes to its block as a whole.
    """
    left = sorted(passes, key=lambda p: p.start_s)
    mine = [block.is_for(passes) for block in blocks]
    away = {
        p.number: [
            block.distance_m(p.axis) if fits else np.inf
            for block, fits in zip(blocks, mine, strict=True)
        ]
        for p in left
    }
    parts: dict[int, list[SownPass]] = {}
    fresh: list[Block] = []
    while left:
        sown = min(left, key=lambda p: min(away[p.number], default=np.inf))
        distance = min(away[sown.number], default=np.inf)
        stray = None
        if distance > LINK_M:
            sown = left[0]
            stray = _strays_home(sown, left, away[sown.number], parts)
        if stray is not None:
            block = blocks[stray]
        elif distance > LINK_M:
            block = block_about(len(blocks), sown.axis, _free_letter(blocks))
            blocks.append(block)
            fresh.append(block)
            for row in away.values():
                row.append(np.inf)
        else:
            block = blocks[away[sown.number].index(distance)]
        block.extend_to(sown.axis)
        parts.setdefault(block.number, []).append(sown)
        left.remove(sown)
        for p in left:
            away[p.number][block.number] = block.distance_m(p.axis)
    for block in fresh:
        block.straighten([p.axis for p in parts[block.number]])
    for number, some in parts.items():
        blocks[number].note(some)
    return {number: sorted(some, key=lambda p: p.start_s) for number, some in sorted(parts.items())}


def _strays_home(
    sown: SownPass,
    left: Sequence[SownPass],
    away: Sequence[float],
    parts: dict[int, list[SownPass]],
) -> int | None:
    """The block that a pass beyond the link belongs to all the same, None where to none."""
    alone = block_about(-1, sown.axis, "")
    alone.extend_to(sown.axis)
    if sum(alone.distance_m(p.axis) <= LINK_M for p in left) > MOST_STRAYS:
        return None
    near = [n for n, mine in parts.items() if len(mine) > MOST_STRAYS and away[n] <= STRAY_M]
    return min(near, key=lambda n: away[n], default=None)


def _free_letter(blocks: Sequence[Block]) -> str:
    """A letter that no block has, nor the grower's own names of beds begin with."""
    taken = {b.name for b in blocks}
    taken |= {name.rstrip("0123456789") for b in blocks for name in b.from_map().names}
    return next(name for name in map(letters, range(10_000)) if name not in taken)
