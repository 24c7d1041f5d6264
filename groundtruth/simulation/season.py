"""A season of an invented farm with known truth: three blocks of twenty beds, twelve days.

One tyre change, two wet days, one row unit that lags, one bed sown twice and one left out. Days
are simulated one by one (see `day`) and turned and shifted onto their block; the phone errs anew
each day, by more than a bed's width.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import numpy as np

from ..core.measured import Measured
from ..core.plane import Axis, Plane
from ..core.seeder import Seeder
from ..core.turns import TurnSheet
from .day import SimulatedDay, simulate_day
from .scenario import FieldLayout, Motion, Phone, Scenario, Wheels
from .scenarios import SCENARIOS

BEDS = 20
BLOCKS = ("Upper piece", "Middle piece", "Lower piece")
BED_SPACING_M = 1.6
_PLACE = (-41.2984, 43.5531)  # open sea
_FIRST_DAY = datetime(2027, 4, 19, 7, 10, tzinfo=UTC)
_DAYS_APART = 9
_CROPS = (("beet", "hole 9"), ("carrot", "hole 6"), ("chard", "hole 11"), ("spinach", "hole 8"))
_RATIO, _TYRE_M, _NEW_TYRE = 2.2, 1.7340, 1.030
_DRY_SLIP, _WET_SLIP = 0.030, 0.085


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonPlan:
    """What happens in the season. Days count from 0; the block of day d is d modulo 3.

    ``slants_m`` is by how much each bed of a block is longer than the one before. ``named`` are
    the days on which the turn sheet names the beds. ``double`` and ``skip`` are (day, bed), None
    for neither.
    """

    days: int = 12
    tyre_day: int | None = 6
    wet_days: tuple[int, ...] = (3, 8)
    lagging: float = 0.04
    double: tuple[int, int] | None = (7, 12)
    skip: tuple[int, int] | None = (11, 5)
    slants_m: tuple[float, float, float] = (0.0, 1.0, 2.0)
    named: tuple[int, ...] = (7, 11)
    phone: Phone = field(default_factory=lambda: SCENARIOS["ordinary phone"].phone)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SeasonDay:
    """One day with its truth: ``beds`` in the order in which they were sown."""

    number: int
    block: int
    beds: tuple[int, ...]
    wet: bool
    crop: str
    setting: str
    day: SimulatedDay

    @property
    def names(self) -> tuple[str, ...]:
        """The grower's names of the beds sown."""
        return tuple(bed_name(self.block, bed) for bed in self.beds)


QUIET = SeasonPlan(tyre_day=None, wet_days=(), lagging=0.0, double=None, skip=None, named=())
"""A season in which nothing happens."""


def bed_name(block: int, bed: int) -> str:
    """U1 … U20, M1 … M20, L1 … L20 for the upper, middle and lower piece."""
    return f"{'UML'[block]}{bed + 1}"


def simulate_season(plan: SeasonPlan, seed: int) -> tuple[SeasonDay, ...]:
    """All days of a season; the same for the same plan and seed."""
    rng = np.random.default_rng(np.random.SeedSequence((seed, 2027)))
    return tuple(_day(plan, number, seed, rng) for number in range(plan.days))


def bed_lengths_m(plan: SeasonPlan, block: int) -> list[float]:
    """Length of each bed of a block. [m]"""
    return [66.0 + plan.slants_m[block] * bed for bed in range(BEDS)]


def _day(plan: SeasonPlan, number: int, seed: int, rng: np.random.Generator) -> SeasonDay:
    block = number % 3
    beds = list(range(BEDS))
    if plan.double is not None and plan.double[0] == number:
        beds.insert(plan.double[1], plan.double[1])
    if plan.skip is not None and plan.skip[0] == number:
        beds.remove(plan.skip[1])
    if rng.random() < 0.5:
        beds.reverse()
    lengths = bed_lengths_m(plan, block)
    wet = number in plan.wet_days
    slip = (_WET_SLIP if wet else _DRY_SLIP) + float(rng.normal(0, 0.006))
    tyre = _TYRE_M * (_NEW_TYRE if plan.tyre_day is not None and number >= plan.tyre_day else 1)
    scenario = Scenario(
        name="season",
        about="one day of a season",
        motion=Motion(speed_m_s=(0.9, 1.3), elevation_m=(40, 40), slope=(0.003, 0.003)),
        field=FieldLayout(
            lengths_m=tuple(lengths[b] for b in beds),
            steps=tuple(abs(b - a) for a, b in pairwise(beds)),
            bed_width_m=(BED_SPACING_M, BED_SPACING_M),
            run_in_m=(4, 4),
            drive_m=(200, 400),
            pauses=(0, 1),
            pause_s=(30, 90),
        ),
        phone=plan.phone,
        wheels=Wheels(
            units=4,
            circumference_m=(tyre, tyre),
            gear_ratio=(_RATIO, _RATIO),
            slip=(slip, slip),
            lagging=(plan.lagging, plan.lagging),
        ),
    )
    begin = (_FIRST_DAY + timedelta(days=_DAYS_APART * number)).timestamp()
    made = simulate_day(scenario, seed * 1000 + number, begin_s=begin)
    crop, setting = _CROPS[(number // 3 + block) % len(_CROPS)]
    sheet = TurnSheet(
        name="turns.csv",
        counts=tuple(
            replace(
                count,
                crop=crop,
                setting=setting,
                bed=bed_name(block, beds[count.pass_number - 1]) if number in plan.named else "",
            )
            for count in made.sheet.counts
        ),
    )
    seeder = Seeder(
        turns_of="gear",
        wheel_circumference=Measured(tyre, 0.002),
        gear_turns_per_wheel_turn=_RATIO,
        ground_per_gear_turn_in_use_m=round(_TYRE_M / _RATIO, 3),
        row_units=4,
        row_spacing_m=0.32,
        bed_spacing_m=BED_SPACING_M,
    )
    moved = replace(_onto_block(made, block, beds, rng), sheet=sheet, seeder=seeder)
    return SeasonDay(
        number=number,
        block=block,
        beds=tuple(beds),
        wet=wet,
        crop=crop,
        setting=setting,
        day=moved,
    )


def block_plane(block: int) -> tuple[Plane, float]:
    """Where a block lies: the plane about its first bed's end, and the heading of its beds [deg].

    Blocks lie 60 m apart and more."""
    lon, lat = _PLACE
    return Plane(longitude_deg=lon + 0.0016 * block, latitude_deg=lat - 0.0021 * block), (
        18.0 + 31.0 * block
    )


def _onto_block(
    made: SimulatedDay, block: int, beds: Sequence[int], rng: np.random.Generator
) -> SimulatedDay:
    """The day's track turned, mirrored where it went the other way round, and put on the block.

    On top of the phone's own errors the whole day is off by about 2.5 m each way.
    """
    plane, heading = block_plane(block)
    path, first, other = made.path, made.passes[0], made.passes[-1]

    def at(when: float) -> np.ndarray:
        return np.array(
            [
                np.interp(when, path.time_s, path.east_m),
                np.interp(when, path.time_s, path.north_m),
            ]
        )

    start = at(first.start_s)
    driven, target = Axis.towards(first.axis_deg), Axis.towards(heading)
    to_other = (at(other.start_s) + at(other.end_s)) / 2 - (start + at(first.end_s)) / 2
    rises = 1 if beds[-1] > beds[0] else -1  # beds count to the right of the block's heading
    side = rises * (1 if driven.across(*to_other) > 0 else -1)
    off = rng.normal(0, 2.5, size=2)
    east, north = made.plane.to_metres(made.track.longitude_deg, made.track.latitude_deg)
    away = east - start[0], north - start[1]
    across = side * driven.across(*away) + beds[0] * BED_SPACING_M
    east, north = target.from_origin(driven.along(*away), across)
    longitude, latitude = plane.to_degrees(east + off[0], north + off[1])
    track = replace(
        made.track, longitude_deg=np.round(longitude, 7), latitude_deg=np.round(latitude, 7)
    )
    return replace(made, track=track)
