"""What the drive wheels turned, and what a person or a sensor wrote down of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.measured import Measured
from ..core.seeder import Seeder
from ..core.turns import TurnCount, TurnReadings, TurnSheet
from .motion import TruePass, TruePath
from .scenario import Wheels, draw

Array = NDArray[np.float64]

_TAPE_M = 0.002
"""Error of rolling the wheel out along a tape, one standard deviation."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueUnit:
    """The truth about one row unit. All turns are gear turns.

    ``turns`` holds the true turns of each pass. ``ground_per_turn_m`` is what these passes came to,
    ground over turns; ``expected_ground_per_turn_m`` the mean that the day's soil would give over
    endlessly many passes, and ``expected_slip`` the slip that goes with it.
    """

    unit: str
    zero_slip_m: float
    turns: tuple[float, ...]
    ground_per_turn_m: float
    expected_ground_per_turn_m: float
    slip: float
    expected_slip: float
    between_passes: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Turning:
    """Cumulative true turns of one unit in one pass at points of the ground."""

    ground_m: Array
    turns: Array


def turn_wheels(
    wheels: Wheels, passes: tuple[TruePass, ...], rng: np.random.Generator
) -> tuple[Seeder, tuple[TrueUnit, ...], list[list[Turning]]]:
    """The machine and what its wheels did: units, and for each unit one `Turning` a pass."""
    circumference = draw(rng, wheels.circumference_m)
    rolled_out = round(circumference + rng.normal(0, _TAPE_M), 3)
    ratio = round(draw(rng, wheels.gear_ratio), 2)
    zero_slip = circumference / ratio
    slip = draw(rng, wheels.slip)
    between_passes = draw(rng, wheels.slip_between_passes)
    between_units = draw(rng, wheels.slip_between_units)
    along = draw(rng, wheels.slip_along)
    along_length = draw(rng, wheels.slip_along_length_m)
    # a pass's soil slows all units alike; a fifth of the spread is each unit's own
    soil = rng.standard_normal(len(passes)) * between_passes * np.sqrt(0.96)
    units, turnings = [], []
    for j in range(wheels.units):
        own = rng.normal(0, between_units) if wheels.units > 1 else 0.0
        if j == wheels.units - 1:
            own += draw(rng, wheels.lagging)
        expected = zero_slip / (1 - slip - own)
        shares = 1 + soil + rng.standard_normal(len(passes)) * between_passes * 0.2
        turned = [
            _turning(p.ground_m, expected * share, along, along_length, rng)
            for p, share in zip(passes, shares, strict=True)
        ]
        totals = [float(t.turns[-1]) for t in turned]
        ground = sum(p.ground_m for p in passes)
        per_turn = ground / sum(totals)
        units.append(
            TrueUnit(
                unit=str(j + 1),
                zero_slip_m=zero_slip,
                turns=tuple(totals),
                ground_per_turn_m=per_turn,
                expected_ground_per_turn_m=expected,
                slip=1 - zero_slip / per_turn,
                expected_slip=1 - zero_slip / expected,
                between_passes=between_passes,
            )
        )
        turnings.append(turned)
    seeder = Seeder(
        turns_of="gear",
        wheel_circumference=Measured(rolled_out, _TAPE_M),
        gear_turns_per_wheel_turn=ratio,
        ground_per_gear_turn_in_use_m=round(rolled_out / ratio, 3),
        row_units=wheels.units,
        row_spacing_m=0.3,
    )
    return seeder, tuple(units), turnings


def _turning(
    ground_m: float, per_turn_m: float, along: float, length_m: float, rng: np.random.Generator
) -> Turning:
    """Turns along the ground, with a slip that varies from place to place."""
    ground = np.linspace(0, ground_m, max(2, int(ground_m)) + 1)
    nodes = np.arange(int(ground_m / length_m) + 2)
    variation = np.interp(ground / length_m, nodes, rng.standard_normal(len(nodes)) * along)
    variation -= variation.mean()  # the pass as a whole keeps its own slip
    rate = (1 + variation) / per_turn_m
    turns = np.concatenate([[0.0], np.cumsum((rate[1:] + rate[:-1]) / 2 * np.diff(ground))])
    return Turning(ground_m=ground, turns=turns)


def write_down(
    wheels: Wheels,
    path: TruePath,
    passes: tuple[TruePass, ...],
    units: tuple[TrueUnit, ...],
    turnings: list[list[Turning]],
    begin_s: float,
    rng: np.random.Generator,
) -> TurnSheet:
    """The turn sheet of the day."""
    if wheels.counts == "each turn":
        return _each_turn(path, passes, units, turnings, begin_s, rng)
    instants = [_instants(p, begin_s, rng) for p in passes]
    if wheels.counts == "running":
        readings = []
        for unit in units:
            reached = rng.uniform(100, 900) + np.concatenate([[0.0], np.cumsum(unit.turns)])
            pairs = np.repeat(np.floor(reached), 2)[1:-1]  # read at start and end of each pass
            readings.append(
                TurnReadings(unit=unit.unit, time_s=np.array(instants).ravel(), turns=pairs)
            )
        return TurnSheet(name="turns.csv", readings=tuple(readings))
    resolution = 0.1 if wheels.counts == "tenth" else 1.0
    counts: list[TurnCount] = []
    for k, (p, (start, end)) in enumerate(zip(passes, instants, strict=True)):
        for unit in units:
            phase = rng.random()
            steps = np.floor(phase + unit.turns[k] / resolution) - np.floor(phase)
            counts.append(
                TurnCount(
                    pass_number=p.number,
                    unit=unit.unit,
                    turns=round(float(steps * resolution), 1),
                    start_s=start if wheels.instants else None,
                    end_s=end if wheels.instants else None,
                    resolution=resolution,
                    line=len(counts) + 2,
                )
            )
    return TurnSheet(name="turns.csv", counts=tuple(counts))


def _instants(p: TruePass, begin_s: float, rng: np.random.Generator) -> tuple[float, float]:
    """When the counters were read, in whole seconds: somewhere in the standing, or, on the move,
    within a second or so of the drop and the lift."""
    out = []
    for stood, instant in ((p.stood_start, p.start_s), (p.stood_end, p.end_s)):
        if stood is None:
            out.append(begin_s + round(instant + rng.normal(0, 1)))
        else:
            earliest, latest = np.ceil(stood[0]), np.floor(stood[1])
            out.append(begin_s + float(rng.integers(int(earliest), int(latest) + 1)))
    return out[0], out[1]


def _each_turn(
    path: TruePath,
    passes: tuple[TruePass, ...],
    units: tuple[TrueUnit, ...],
    turnings: list[list[Turning]],
    begin_s: float,
    rng: np.random.Generator,
) -> TurnSheet:
    """A switch on the gear writes an instant, to 0.01 s, each time the gear comes round."""
    readings = []
    at_start = np.interp([p.start_s for p in passes], path.time_s, path.ground_m)
    for unit, turned in zip(units, turnings, strict=True):
        reached = rng.random()
        times, counts = [], []
        for k, turning in enumerate(turned):
            whole = np.arange(np.floor(reached) + 1, np.floor(reached + unit.turns[k]) + 1)
            ground = np.interp(whole - reached, turning.turns, turning.ground_m) + at_start[k]
            times.append(_first_time_at(path, ground))
            counts.append(whole)
            reached += unit.turns[k]
        readings.append(
            TurnReadings(
                unit=unit.unit,
                time_s=np.asarray(begin_s + np.round(np.concatenate(times), 2)),
                turns=np.concatenate(counts),
                at_each_turn=True,
            )
        )
    return TurnSheet(name="turns.csv", readings=tuple(readings))


def _first_time_at(path: TruePath, ground_m: Array) -> Array:
    """When the path first reached each of the grounds, shape (n,)."""
    k = np.clip(np.searchsorted(path.ground_m, ground_m), 1, len(path.ground_m) - 1)
    g0, g1 = path.ground_m[k - 1], path.ground_m[k]
    share = (ground_m - g0) / np.maximum(g1 - g0, 1e-12)
    return np.asarray(path.time_s[k - 1] + share * (path.time_s[k] - path.time_s[k - 1]))
