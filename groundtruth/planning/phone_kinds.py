"""What a kind of phone is like: an ensemble of noise parameters to average a forecast over."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ..core.language import English
from ..estimator.priors import PARAMETERS
from ..simulation.scenario import Motion, Phone, Range
from ..simulation.scenarios import SCENARIOS

Array = NDArray[np.float64]

MEMBERS = 96
SHORTEST_RISE_S = 0.02


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NoiseEnsemble:
    """A weighted ensemble of the noise parameters of the measurement model.

    ``values`` (parameters, members) in the order of `estimator.priors.PARAMETERS`, ``weight``
    (members,) that sums to 1, and how often the phone gives a fix. ``held_share`` of the fixes
    while standing repeat the place before and say nothing. ``centimetre`` says that a
    measurement will take it for a receiver with carrier-phase corrections.
    """

    name: str
    about: str
    values: Array
    weight: Array
    rate_hz: float
    doppler: bool
    centimetre: bool = False
    held_share: float = 0.0


@dataclass(frozen=True, slots=True)
class _Kind:
    scenario: str
    about: str


KINDS: Final = {
    "calm": _Kind("calm phone", English("quiet for minutes, then moves by a metre or two")),
    "ordinary": _Kind(
        "ordinary phone", English("the middle half of real phones, one fix a second")
    ),
    "drifting": _Kind("drifting phone", English("drifts smoothly by metres")),
    "rough": _Kind("rough phone", English("errs anew within seconds")),
    "bad": _Kind("bad phone", English("the worst tenth of what real phones recorded")),
    "with-speed": _Kind("doppler", English("an ordinary phone whose app also records its speed")),
    "centimetre": _Kind(
        "centimetre receiver", English("a receiver with corrections, good to centimetres")
    ),
}
"""Kinds of phone. Their ranges are those that simulated days draw from, docs/simulator.md."""


def noise_of_kind(kind: str) -> NoiseEnsemble:
    """The ensemble for a named kind: a Latin hypercube over the ranges of the kind.

    (M. D. McKay, R. J. Beckman, W. J. Conover, Technometrics 21, 1979, 239-245, from memory.)
    Deterministic.

    Raises
    ------
    KeyError : no such kind; the caller offers the names of `KINDS`.
    """
    scenario = SCENARIOS[KINDS[kind].scenario]
    phone, motion = scenario.phone, Motion()
    rng = np.random.default_rng(20)

    def even(spread: Range) -> Array:
        level = (rng.permutation(MEMBERS) + rng.random(MEMBERS)) / MEMBERS
        return spread[0] + level * (spread[1] - spread[0])

    def log_even(spread: Range) -> Array:
        return np.asarray(np.exp(even((float(np.log(spread[0])), float(np.log(spread[1]))))))

    doppler = phone.doppler
    speed_m_s = even(motion.speed_m_s)
    drawn = {
        "slow_m": even(phone.slow_m),
        "slow_s": log_even(phone.slow_time_s),
        "fast_m": np.hypot(even(phone.fast_m), correction_std_m(phone)),
        "fast_s": log_even(phone.fast_time_s),
        "rise_s": (
            log_even(phone.rise_s) if phone.rise_s[1] > 0 else np.full(MEMBERS, SHORTEST_RISE_S)
        ),
        "white_m": even(phone.white_m),
        "drive": even(motion.speed_variation),
        "drive_s": even(motion.speed_variation_time_s),
        "ramp_s": speed_m_s / even(motion.acceleration_m_s2),
        "doppler_white_m_s": even(doppler.white_m_s if doppler else (0.1, 0.1)),
        "doppler_slow_m_s": even(doppler.correlated_m_s if doppler else (0.03, 0.03)),
    }
    return NoiseEnsemble(
        name=kind,
        about=KINDS[kind].about,
        values=np.stack([drawn[name] for name in PARAMETERS]),
        weight=np.full(MEMBERS, 1 / MEMBERS),
        rate_hz=phone.rate_hz,
        doppler=doppler is not None,
        centimetre=kind == "centimetre",
        held_share=sum(phone.frozen_share) / 2,
    )


def correction_std_m(phone: Phone) -> float:
    """Standard deviation on one axis of what a phone's corrections leave in its error. [m]

    Moves at random instants that fade with time τ add up to variance rate · E[s²]/2 · (τ/2 + T/3),
    T being the seconds of the move (Campbell's theorem for shot noise, from memory).
    """

    def mean_square(spread: Range) -> float:
        low, high = spread
        return (low * low + low * high + high * high) / 3

    lasts_s = sum(phone.correction_s) / 2
    rate_per_s = sum(phone.corrections_per_minute) / 2 / 60
    variance = rate_per_s * mean_square(phone.correction_m) / 2
    return float(np.sqrt(variance * (phone.correction_fades_s / 2 + lasts_s / 3)))
