"""The fixes of several passes in arrays of one shape, so that they are filtered side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot, sqrt

import numpy as np
from numpy.typing import NDArray

from .pass_coordinates import RAMP_DOUBT_S, STAND_DOUBT_S, Stretch, joined, standing_before

Array = NDArray[np.float64]

NEAR_STOP_SHARE = 0.3
"""Near a stop the speed is unsure by this share of the working speed, from second to second."""
LONG_STEP_S = 3.0
"""Between fixes so far apart nobody can say when the tractor moved off, s."""
EDGE_SPREAD_S = 1.5
"""Around an instant of moving off its doubt is spread over so many seconds to either side."""
PADDED_STEP_S = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class StepKinds:
    """The different kinds of steps: ``values`` (quantities, kinds), ``of_step`` (steps, passes)."""

    values: Array
    of_step: NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Batch:
    """The used fixes of several stretches in lockstep, padded at the end.

    Arrays of shape (steps, passes). ``step_s`` leads from the fix before to this one, ``clock_s``
    is the motion clock, ``unsure_s`` the seconds near a stop up to this fix.
    ``seen`` is 1 where there is a fix, ``speed_seen`` where its Doppler speed is used.
    Of shape (passes,): ``nominal_m_s``, ``span_s`` from the first to the last fix, and for the two
    marks (2, passes) ``mark_clock_s`` and ``mark_unsure_s``.
    ``along`` are the kinds of steps along the pass by lapse, lapse of the motion clock, doubt near
    a stop in m², and nominal speed; ``across`` those across it, by lapse.
    """

    time_s: Array
    step_s: Array
    clock_s: Array
    unsure_s: Array
    seen: Array
    along_m: Array
    across_m: Array
    speed_m_s: Array
    speed_seen: Array
    across_used: bool
    stretches: tuple[Stretch, ...]
    nominal_m_s: Array
    span_s: Array
    mark_clock_s: Array
    mark_unsure_s: Array
    along: StepKinds
    across: StepKinds


def batch_of(stretches: Sequence[Stretch], *, doppler: bool, across: bool = True) -> Batch:
    """The used fixes of the stretches, step by step side by side.

    With ``doppler`` every finite speed is taken for the working speed: see `working_speeds`.
    Without ``across`` the places across the passes are left out.
    """
    fixes = [np.flatnonzero(s.used) for s in stretches]
    shape = max(map(len, fixes)), len(stretches)
    columns = {
        name: np.zeros(shape)
        for name in ("time", "clock", "unsure", "seen", "along", "across", "speed", "heard")
    }
    step, clock_step = np.full(shape, PADDED_STEP_S), np.zeros(shape)
    for p, (s, fix) in enumerate(zip(stretches, fixes, strict=True)):
        n, time = len(fix), s.time_s[fix]
        clock = s.under_way_s(time)
        heard = np.isfinite(s.speed_m_s[fix]) & doppler
        for name, values in (
            ("time", time),
            ("clock", clock),
            ("unsure", _unsure_s(s, time)),
            ("seen", np.ones(n)),
            ("along", s.along_m[fix]),
            ("across", s.across_m[fix]),
            ("speed", np.where(heard, s.speed_m_s[fix], 0.0)),
            ("heard", heard),
        ):
            columns[name][:n, p] = values
        step[1:n, p], clock_step[1:n, p] = np.diff(time), np.diff(clock)
    nominal = np.array([s.rough_speed_m_s for s in stretches])
    unsure = np.clip(np.diff(columns["unsure"], axis=0, prepend=columns["unsure"][:1]), 0.0, None)
    near_stop_m2 = np.round(unsure * columns["seen"], 6) * (NEAR_STOP_SHARE * nominal) ** 2
    lapse, clock_lapse = np.round(step, 6), np.round(clock_step, 6)
    marks = [(s, np.array([s.start_s, s.end_s])) for s in stretches]
    return Batch(
        time_s=columns["time"],
        step_s=step,
        clock_s=columns["clock"],
        unsure_s=columns["unsure"],
        seen=columns["seen"],
        along_m=columns["along"],
        across_m=columns["across"],
        speed_m_s=columns["speed"],
        speed_seen=columns["heard"],
        across_used=across,
        stretches=tuple(stretches),
        nominal_m_s=nominal,
        span_s=np.array([max(s.time_s[-1] - s.time_s[0], 1.0) for s in stretches]),
        mark_clock_s=np.stack([s.under_way_s(m) for s, m in marks], axis=1),
        mark_unsure_s=np.stack([_unsure_s(s, m) for s, m in marks], axis=1),
        along=_kinds(lapse, clock_lapse, near_stop_m2, np.broadcast_to(nominal, shape)),
        across=_kinds(lapse),
    )


def _kinds(*quantities: Array) -> StepKinds:
    """Steps (steps, passes) that are alike in all quantities are of one kind."""
    code = np.zeros(quantities[0].shape, dtype=np.int64)
    for quantity in quantities:
        values, number = np.unique(quantity, return_inverse=True)
        code = code * len(values) + number.reshape(code.shape)
    _, first, kind_of = np.unique(code, return_index=True, return_inverse=True)
    return StepKinds(np.stack([q.ravel()[first] for q in quantities]), kind_of.reshape(code.shape))


def _unsure_s(stretch: Stretch, time_s: Array) -> Array:
    """Seconds near a stop, where the speed is unsure, up to each instant. [s]

    A doubt σ about the instant of moving off counts as (σ/NEAR_STOP_SHARE)² seconds more there.
    """
    if stretch.wheel is not None:
        return np.zeros_like(time_s)
    windows = [
        (edge - before, edge + after)
        for stop in stretch.stops
        for edge, before, after in (
            (stop[0], RAMP_DOUBT_S, STAND_DOUBT_S),
            (stop[1], STAND_DOUBT_S, RAMP_DOUBT_S),
        )
    ]
    total = standing_before(joined(windows), time_s)
    for low, high, std_s in _edges(stretch):
        total += (std_s / NEAR_STOP_SHARE) ** 2 * np.clip((time_s - low) / (high - low), 0.0, 1.0)
    return total


def _edges(stretch: Stretch) -> list[tuple[float, float, float]]:
    """Where the tractor moved off or came to stand, from and until, and the doubt about when. [s]

    Within a gap of the fixes it may have been at any instant of the gap, even over it.
    """
    if stretch.edge_std_s <= 0:
        return []
    time, found = stretch.time_s, []
    for edge in (e for stop in stretch.stops for e in stop if time[0] < e < time[-1]):
        after = int(np.searchsorted(time, edge))
        low, high = float(time[after - 1]), float(time[after])
        if high - low > LONG_STEP_S:
            found.append((low, high, hypot(stretch.edge_std_s, (high - low) / sqrt(12))))
        else:
            found.append((edge - EDGE_SPREAD_S, edge + EDGE_SPREAD_S, stretch.edge_std_s))
    return found


def clock_at_fixes_s(batch: Batch, ramp_s: Array) -> Array:
    """The motion clock less what the ramps lose: (steps, passes, sets). [s]"""
    steps, passes = batch.step_s.shape
    out = np.empty((steps, passes, len(ramp_s)))
    for p, stretch in enumerate(batch.stretches):
        time = np.append(batch.time_s[:, p], stretch.start_s)
        loss = stretch.ramp_loss_s(time, ramp_s)
        out[:, p] = batch.clock_s[:, p, None] - (loss[:-1] - loss[-1])
    return out


def clock_between_marks_s(batch: Batch, ramp_s: Array) -> Array:
    """The motion clock from mark to mark: (passes, sets). [s]"""
    out = np.empty((len(batch.stretches), len(ramp_s)))
    for p, stretch in enumerate(batch.stretches):
        loss = stretch.ramp_loss_s(np.array([stretch.start_s, stretch.end_s]), ramp_s)
        clock = batch.mark_clock_s[:, p]
        out[p] = clock[1] - clock[0] - (loss[1] - loss[0])
    return out
