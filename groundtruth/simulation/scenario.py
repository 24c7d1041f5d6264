"""What kind of day is simulated: ranges from which every seed draws its own figures.

Ranges, not values, so that nothing can be tuned to one setting. Their sources are listed in
docs/simulator.md.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

Range = tuple[float, float]
"""Lowest and highest value of an even (or, where stated, logarithmically even) spread."""

CountMode = Literal["whole", "tenth", "running", "each turn"]
"""How turns are written down: whole turns per pass read without phase, turns to a tenth, a running
counter read at both ends of every pass, or one line for each turn."""


def draw(rng: np.random.Generator, spread: Range) -> float:
    """One value, evenly spread over the range."""
    return float(rng.uniform(*spread))


def draw_log(rng: np.random.Generator, spread: Range) -> float:
    """One value whose logarithm is evenly spread over the range (both ends above 0)."""
    return float(np.exp(rng.uniform(np.log(spread[0]), np.log(spread[1]))))


@dataclass(frozen=True, slots=True, kw_only=True)
class Motion:
    """How the tractor drives.

    ``speed_variation`` is the standard deviation of the speed about its mean as a share, over
    ``speed_variation_time_s``; ``weave_m`` the amplitude to either side over ``weave_length_m``;
    ``sagitta_m`` the rise of a bowed bed over its chord; ``slope`` the rise per metre along the
    beds. With ``rolling_share`` the share of days on which the seeder is dropped and lifted on the
    move, and ``mid_stop_share`` the share of passes with a stop on the way.
    """

    speed_m_s: Range = (0.7, 1.8)
    speed_variation: Range = (0.02, 0.05)
    speed_variation_time_s: Range = (15, 40)
    acceleration_m_s2: Range = (0.2, 0.6)
    weave_m: Range = (0.05, 0.10)
    weave_length_m: Range = (10, 30)
    sagitta_m: Range = (0.0, 0.15)
    slope: Range = (0.0, 0.02)
    elevation_m: Range = (0, 300)
    end_stop_s: Range = (3, 20)
    rolling_share: float = 0.0
    mid_stop_share: float = 0.0
    mid_stop_s: Range = (5, 60)


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldLayout:
    """How many beds, how long, and what is driven besides.

    ``lengths_m`` gives each pass its length and so their number; ``steps`` how many bed widths lie
    between a pass and the next, 1 where left out: 0 sows a bed again, 2 leaves one out.
    """

    fields: int = 1
    passes: tuple[int, int] = (8, 12)  # for each field, both included
    bed_length_m: Range = (40, 200)
    bed_width_m: Range = (1.4, 2.2)
    run_in_m: Range = (2, 6)
    turn_radius_m: Range = (3, 5)
    drive_m: Range | None = (200, 1200)  # None: the recording holds the first to the last pass only
    drive_speed_m_s: Range = (2.5, 7.0)
    lengths_m: tuple[float, ...] = ()
    steps: tuple[int, ...] = ()
    pauses: tuple[int, int] = (0, 2)
    pause_s: Range = (30, 300)


@dataclass(frozen=True, slots=True, kw_only=True)
class Doppler:
    """Speed as the device reports it: the length of a disturbed velocity, so never negative."""

    white_m_s: Range = (0.05, 0.15)
    correlated_m_s: Range = (0.02, 0.05)
    correlation_s: Range = (3, 8)
    bias_m_s: Range = (-0.02, 0.02)


@dataclass(frozen=True, slots=True, kw_only=True)
class Phone:
    """How positions err, for each of east and north; times are spread logarithmically.

    The slow error is a first-order Gauss–Markov process, the fast one such a process after a
    low-pass filter of ``rise_s``; both run on through the whole day. Unless a phone says
    otherwise, its figures are the middle half of those fitted to the errors of real phones.

    ``corrections_per_minute`` are moves of the whole solution by ``correction_m`` over
    ``correction_s``, which fade afterwards. ``late_share`` of the fixes show where the phone was a
    second before, and ``frozen_share`` repeat the one before while the tractor stands. ``lag_s``
    above 0 makes a smoothing phone: truth and noise pass a low-pass filter with that mean delay,
    and ``white_m`` comes after it. ``whole_seconds`` cuts the stamps of fixes taken anywhere within
    a second.
    """

    rate_hz: float = 1.0
    slow_m: Range = (0.34, 0.86)
    slow_time_s: Range = (146, 235)
    fast_m: Range = (0.76, 1.77)
    fast_time_s: Range = (14, 45)
    rise_s: Range = (1.3, 6.7)  # 0: nothing is smoothed
    white_m: Range = (0.03, 0.07)
    inner_white_m: Range = (0.0, 0.0)  # before the low-pass filter
    corrections_per_minute: Range = (0.0, 0.3)
    correction_m: Range = (1.0, 2.5)
    correction_s: Range = (5, 15)
    correction_fades_s: float = 60.0
    late_share: Range = (0.0, 0.02)
    lag_s: Range = (0.0, 0.0)
    frozen_share: Range = (0.28, 0.82)
    jumps_per_minute: Range = (0.0, 0.0)
    jump_m: Range = (3, 10)
    jump_s: Range = (1, 8)
    gaps_per_minute: Range = (0.0, 0.0)
    gap_s: Range = (4, 40)
    coordinate_steps_deg: tuple[float, ...] = (1e-6, 1e-7)
    whole_seconds: bool = False
    height_m: Range = (1.5, 5.0)
    doppler: Doppler | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Wheels:
    """The drive wheels and the counting of their turns.

    Ground per turn is that of zero slip divided by 1 − slip, with one slip for the day, a spread
    between passes, a spread between units, and a variation along the pass. ``lagging`` is the extra
    slip of the last unit, 0 for none.
    """

    units: int = 1
    circumference_m: Range = (1.2, 2.2)
    gear_ratio: Range = (1.5, 4.0)  # gear turns per wheel turn
    slip: Range = (0.0, 0.08)
    slip_between_passes: Range = (0.002, 0.010)
    slip_between_units: Range = (0.001, 0.003)
    slip_along: Range = (0.005, 0.015)
    slip_along_length_m: Range = (5, 20)
    lagging: Range = (0.0, 0.0)
    counts: CountMode = "whole"
    instants: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Scenario:
    """A kind of day."""

    name: str
    about: str
    motion: Motion = Motion()
    field: FieldLayout = FieldLayout()
    phone: Phone = Phone()
    wheels: Wheels = Wheels()
