"""What a kind of phone is like: an ensemble of noise parameters to average a forecast over."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ..estimator.priors import PARAMETERS
from ..simulation.scenario import SCENARIOS, Motion, Range

Array = NDArray[np.float64]

MEMBERS = 96
SHORTEST_RISE_S = 0.02


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NoiseEnsemble:
    """A weighted ensemble of the noise parameters of the measurement model.

    ``values`` (parameters, members) in the order of `estimator.priors.PARAMETERS`, ``weight``
    (members,) that sums to 1, and how often the phone gives a fix.
    """

    name: str
    about: str
    values: Array
    weight: Array
    rate_hz: float
    doppler: bool


@dataclass(frozen=True, slots=True)
class _Kind:
    scenario: str
    about: str


KINDS: Final = {
    "good": _Kind("good phone", "a recent phone under open sky"),
    "ordinary": _Kind("ordinary phone", "most phones on a tractor, one fix a second"),
    "bad": _Kind("bad phone", "in a pocket, part of the sky hidden"),
    "smoothing": _Kind("smoothing phone", "smooths inside and lags by 1-3 s"),
    "with-speed": _Kind("doppler", "an ordinary phone whose app also records its speed"),
    "centimetre": _Kind("centimetre receiver", "a receiver with corrections, good to centimetres"),
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

    smooths = phone.lag_s[1] > 0
    doppler = phone.doppler
    speed_m_s = even(motion.speed_m_s)
    drawn = {
        "slow_m": even(phone.slow_m),
        "slow_s": log_even(phone.slow_time_s),
        "fast_m": even(phone.medium_m),
        "fast_s": log_even(phone.medium_time_s),
        "rise_s": even(phone.lag_s) if smooths else np.full(MEMBERS, SHORTEST_RISE_S),
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
    )
