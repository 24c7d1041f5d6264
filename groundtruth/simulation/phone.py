"""What a phone or receiver makes of the true path."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.plane import Plane, height_factor
from ..core.track import Track
from .motion import GRID_S, TruePath
from .noise import gauss_markov, low_pass, smoothed_gauss_markov
from .scenario import Doppler, Phone, draw, draw_log

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnPhone:
    """The figures that the day drew for its phone; names as in `scenario.Phone` and `Doppler`."""

    rate_hz: float
    slow_m: float
    slow_time_s: float
    fast_m: float
    fast_time_s: float
    rise_s: float
    white_m: float
    inner_white_m: float
    lag_s: float
    poles: int
    frozen_share: float
    late_share: float
    corrections_per_minute: float
    coordinate_step_deg: float
    jumps_per_minute: float
    gaps_per_minute: float
    doppler_white_m_s: float
    doppler_correlated_m_s: float
    doppler_correlation_s: float
    doppler_bias_m_s: float

    @property
    def keeps_one_in(self) -> int:
        """Of so many fixes the recorder keeps one: a phone looks once a second at least."""
        return max(1, round(1 / self.rate_hz))

    @property
    def period_s(self) -> float:
        """Time from one fix to the next, before the recorder leaves any out. [s]"""
        return 1 / (self.rate_hz * self.keeps_one_in)


def draw_phone(phone: Phone, rng: np.random.Generator) -> DrawnPhone:
    """Draw a day's phone."""
    apart = rng.spawn(1)[0]  # so that a figure more leaves the others as they are
    doppler = phone.doppler or Doppler(
        white_m_s=(0, 0), correlated_m_s=(0, 0), correlation_s=(1, 1), bias_m_s=(0, 0)
    )
    return DrawnPhone(
        rate_hz=phone.rate_hz,
        slow_m=draw(rng, phone.slow_m),
        slow_time_s=draw_log(rng, phone.slow_time_s),
        fast_m=draw(rng, phone.fast_m),
        fast_time_s=draw_log(rng, phone.fast_time_s),
        rise_s=draw_log(apart, phone.rise_s) if phone.rise_s[1] > 0 else 0.0,
        white_m=draw(rng, phone.white_m),
        inner_white_m=draw(rng, phone.inner_white_m),
        lag_s=draw(rng, phone.lag_s),
        poles=int(rng.choice([1, 2])),
        frozen_share=draw(rng, phone.frozen_share),
        late_share=draw(apart, phone.late_share),
        corrections_per_minute=draw(apart, phone.corrections_per_minute),
        coordinate_step_deg=float(rng.choice(phone.coordinate_steps_deg)),
        jumps_per_minute=draw(rng, phone.jumps_per_minute),
        gaps_per_minute=draw(rng, phone.gaps_per_minute),
        doppler_white_m_s=draw(rng, doppler.white_m_s),
        doppler_correlated_m_s=draw(rng, doppler.correlated_m_s),
        doppler_correlation_s=draw(rng, doppler.correlation_s),
        doppler_bias_m_s=draw(rng, doppler.bias_m_s),
    )


def record(
    path: TruePath,
    phone: Phone,
    drawn: DrawnPhone,
    plane: Plane,
    begin_s: float,
    name: str,
    rng: np.random.Generator,
    between_s: tuple[float, float],
) -> Track:
    """The track that the phone records between two instants of the path's own clock.

    ``begin_s`` is the UTC instant of the path's zero, a whole second. The path's metres are metres
    of ground at its height; degrees come out on the ellipsoid.
    """
    n = len(path.time_s)
    apart = rng.spawn(1)[0]
    noise = gauss_markov(rng, (2, n), GRID_S, drawn.slow_m, drawn.slow_time_s)
    noise += smoothed_gauss_markov(
        rng, (2, n), GRID_S, drawn.fast_m, drawn.fast_time_s, drawn.rise_s
    )
    noise += _correct(path.time_s, drawn, phone, apart)
    seen = np.stack([path.east_m, path.north_m]) + noise
    if drawn.lag_s > 0:
        # white noise of a fix a second, held through that second, before the filter
        inner = rng.standard_normal((2, n // 10 + 1)) * drawn.inner_white_m
        seen += np.repeat(inner, 10, axis=1)[:, :n]
        seen = low_pass(seen, GRID_S, drawn.lag_s, drawn.poles)

    period = drawn.period_s
    first, last = int(np.ceil(between_s[0] / period)), int(np.floor(between_s[1] / period))
    stamp: Array = np.arange(first, last + 1, dtype=np.float64) * period
    taken = stamp
    if phone.whole_seconds:
        taken = stamp + rng.uniform(0, 1, size=len(stamp))
        taken = np.minimum(taken, path.time_s[-1])
    shown = taken - _late(taken, drawn, apart)
    east, north, speed, height = (
        np.interp(shown, path.time_s, series)
        for series in (seen[0], seen[1], path.speed_m_s, path.height_m)
    )
    white = rng.standard_normal((2, len(taken))) * drawn.white_m
    east, north = east + white[0], north + white[1]
    _jump(east, north, taken, drawn, phone, rng)
    kept = _keep(taken, drawn, phone, rng)
    kept &= np.arange(first, last + 1) % drawn.keeps_one_in == 0

    if drawn.frozen_share > 0:
        frozen = (speed < 0.05) & (rng.random(len(taken)) < drawn.frozen_share)
        frozen[0] = False
        latest = np.maximum.accumulate(np.where(frozen, 0, np.arange(len(taken))))
        east, north = east[latest], north[latest]

    factor = height_factor(float(path.height_m[0]), plane.latitude_deg)
    longitude, latitude = plane.to_degrees(east / factor, north / factor)
    rounded = drawn.coordinate_step_deg
    longitude, latitude = (np.round(v / rounded) * rounded for v in (longitude, latitude))
    off = rng.normal(0, 5) + gauss_markov(
        rng, (len(taken),), period, draw(rng, phone.height_m), draw(rng, (100, 400))
    )
    reported = np.zeros(0) if phone.doppler is None else _doppler(speed, period, drawn, rng)[kept]
    return Track(
        time_s=begin_s + stamp[kept],
        longitude_deg=np.round(longitude[kept], 10),
        latitude_deg=np.round(latitude[kept], 10),
        height_m=np.round((height + off)[kept], 2),
        speed_m_s=reported,
        name=name,
    )


def _correct(time_s: Array, drawn: DrawnPhone, phone: Phone, rng: np.random.Generator) -> Array:
    """Error of a receiver that now and then moves its solution by metres, (2, n). [m]

    It moves at an even pace over some seconds, and what it moved by fades afterwards.
    """
    error = np.zeros((2, len(time_s)))
    duration = float(time_s[-1] - time_s[0])
    for _ in range(rng.poisson(drawn.corrections_per_minute * duration / 60)):
        since = time_s - (time_s[0] + rng.uniform(0, duration))
        lasts = draw(rng, phone.correction_s)
        fade = np.exp(-np.maximum(since - lasts, 0) / phone.correction_fades_s)
        size, direction = draw(rng, phone.correction_m), rng.uniform(0, 2 * np.pi)
        moved = size * np.clip(since / lasts, 0, 1) * fade
        error += np.outer((np.cos(direction), np.sin(direction)), moved)
    return error


def _late(time_s: Array, drawn: DrawnPhone, rng: np.random.Generator) -> Array:
    """How late each fix shows where the phone was: a second or nothing, (n,). [s]"""
    late = (rng.random(len(time_s)) < drawn.late_share).astype(float)
    late[0] = 0.0
    return np.asarray(late)


def _jump(
    east: Array,
    north: Array,
    time_s: Array,
    drawn: DrawnPhone,
    phone: Phone,
    rng: np.random.Generator,
) -> None:
    """Shift blocks of fixes as a reflected signal does (in place)."""
    duration = float(time_s[-1] - time_s[0])
    for _ in range(rng.poisson(drawn.jumps_per_minute * duration / 60)):
        at = time_s[0] + rng.uniform(0, duration)
        block = (time_s >= at) & (time_s < at + draw(rng, phone.jump_s))
        size, direction = draw(rng, phone.jump_m), rng.uniform(0, 2 * np.pi)
        east[block] += size * np.cos(direction)
        north[block] += size * np.sin(direction)


def _keep(
    time_s: Array, drawn: DrawnPhone, phone: Phone, rng: np.random.Generator
) -> NDArray[np.bool_]:
    """Which fixes were recorded."""
    kept = np.ones(len(time_s), dtype=bool)
    duration = float(time_s[-1] - time_s[0])
    for _ in range(rng.poisson(drawn.gaps_per_minute * duration / 60)):
        at = time_s[0] + rng.uniform(0, duration)
        kept[(time_s >= at) & (time_s < at + draw(rng, phone.gap_s))] = False
    kept[[0, -1]] = True
    return kept


def _doppler(speed: Array, period_s: float, drawn: DrawnPhone, rng: np.random.Generator) -> Array:
    """Length of the velocity with noise along and across, rounded to 0.01 m/s."""
    noise = rng.standard_normal((2, len(speed))) * drawn.doppler_white_m_s
    noise += gauss_markov(
        rng, (2, len(speed)), period_s, drawn.doppler_correlated_m_s, drawn.doppler_correlation_s
    )
    biased = np.where(speed > 0.02, speed + drawn.doppler_bias_m_s, 0.0)
    return np.asarray(np.round(np.hypot(biased + noise[0], noise[1]), 2))
