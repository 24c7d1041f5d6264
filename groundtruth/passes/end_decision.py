"""Weigh standing against rolling on, and place the end."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .end_likelihood import CAUTION, RAMPS_S, Evidence
from .types import Stand

Array = NDArray[np.float64]

FARTHEST_S = 30.0
"""Of two readings of a stand farther apart, the less likely one is left out, s (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundEnd:
    """The end as found, in the times of its `Evidence`.

    ``instant_s`` is where to put the end; ``stood`` whether the tractor stood there, by the track
    alone; ``on_line_s`` when the tractor came onto the bed's line; ``stand`` is where the end lies
    if it stood.
    """

    instant_s: float
    std_m: float
    stood: bool
    on_line_s: float
    stand: Stand


def log_odds_of_stand(evidence: Evidence, log_ramp: Array) -> float:
    """Logarithm of the odds of standing against rolling on, by the evidence alone.

    The evidence is halved: the model of a turn is rough, and a turn that it fits badly must not
    count as proof of standing (power posterior; Miller & Dunson 2019, doi 10.1080/01621459.2018.
    1469995, from memory).
    """
    from scipy.special import logsumexp

    log_stand = float(logsumexp(evidence.log_stand + log_ramp))
    return CAUTION * (log_stand - evidence.log_rolling)


def decide_end(
    evidence: Evidence, log_ramp: Array, log_odds_prior: float, late_s: float, *, at_end: bool
) -> FoundEnd:
    """The end by the likelier of standing and rolling on, and the doubt about its place.

    ``log_ramp`` and ``log_odds_prior`` are what the whole day says about ramps and standing;
    ``late_s`` is how late a smoothing phone may show that the tractor moved off. The place's
    uncertainty includes that of the decision: should it be wrong, the end is where the other
    reading has it.
    """
    log_odds = log_odds_of_stand(evidence, log_ramp) + log_odds_prior
    probability = float(1 / (1 + np.exp(np.clip(-log_odds, -50, 50))))
    log_weight = CAUTION * (evidence.stand + log_ramp[:, None])
    weight = np.exp(log_weight - log_weight.max())
    stopped_s, stopped_std_m, stood_from_s = _stopped(
        evidence, weight / weight.sum(), late_s, at_end=at_end
    )
    rolling = evidence.rolling
    weight = np.exp(CAUTION * (rolling - rolling.max()))
    weight /= weight.sum()
    by_b = weight.sum(axis=(0, 1))
    rolled_s = _mean_instant(by_b, evidence.b_s)
    spread = float(np.sqrt(by_b @ (evidence.b_s - rolled_s) ** 2))
    rolled_std_m = np.hypot(evidence.speed_m_s * np.hypot(spread, 0.5 * late_s), 1.0)
    apart_m = abs(stopped_s - rolled_s) * evidence.speed_m_s
    stand = Stand(
        span_s=(min(stood_from_s, stopped_s - 1.0), stopped_s),
        time_s=stopped_s,
        std_m=stopped_std_m,
        log_odds=log_odds,
    )
    if probability >= 0.5:
        return FoundEnd(
            instant_s=stopped_s,
            std_m=float(np.sqrt(stopped_std_m**2 + (1 - probability) * apart_m**2)),
            stood=True,
            on_line_s=stood_from_s,
            stand=stand,
        )
    return FoundEnd(
        instant_s=rolled_s,
        std_m=float(np.sqrt(rolled_std_m**2 + probability * apart_m**2)),
        stood=False,
        on_line_s=_mean_instant(weight.sum(axis=(1, 2)), evidence.a_s),
        stand=stand,
    )


def _stopped(
    evidence: Evidence, weight: Array, late_s: float, *, at_end: bool
) -> tuple[float, float, float]:
    """The instant that lies, as nearly as can be told, within the standing; how far it may be
    from it in metres; and since when the tractor stood. ``weight`` has shape (a, ramps, b)."""
    by_ramp, by_a = weight.sum(axis=0), weight.sum(axis=(1, 2))  # (ramps, b), (a,)
    b_s, a_s, speed = evidence.b_s, evidence.a_s, evidence.speed_m_s
    shifts = np.linspace(0, late_s, 4) if late_s else np.zeros(1)
    loss, loss2 = np.zeros(len(b_s)), np.zeros(len(b_s))
    for shift in shifts:  # the phone shows moving off late: at the inner or the outer edge
        late = np.maximum(b_s[:, None] - b_s + (0 if at_end else shift), 0.0)  # chosen, true
        early = np.maximum(a_s + (shift if at_end else 0) - b_s[:, None], 0.0) * speed
        ramp = RAMPS_S[:, None, None]
        gone = np.where(late < ramp, late**2 / (2 * ramp), late - ramp / 2) * speed
        loss += np.einsum("rcb,rb->c", gone, by_ramp) + early @ by_a
        loss2 += np.einsum("rcb,rb->c", gone**2, by_ramp) + early**2 @ by_a
    loss, loss2 = loss / len(shifts), loss2 / len(shifts)
    # of instants that are equally good the one next to the pass
    best = int(np.argmin(loss - 0.01 * (b_s - b_s[0])))
    return float(b_s[best]), float(np.hypot(np.sqrt(loss2[best]), 0.05)), _edge(by_a, a_s)


def _edge(weight: Array, instants_s: Array) -> float:
    """The outer edge of a stand, the mean of the fixes ``instants_s`` (in falling order). [s]

    Those far beyond the median, a break away, are left out.
    """
    median = instants_s[min(int(np.searchsorted(np.cumsum(weight), 0.5)), len(instants_s) - 1)]
    near = instants_s >= median - FARTHEST_S
    return _mean_instant(weight[near] / weight[near].sum(), instants_s[near])


def _mean_instant(weight: Array, instants_s: Array) -> float:
    """Weighted mean, taken from the first: sums of seconds since 1970 would lose digits. [s]"""
    return float(instants_s[0] + weight @ (instants_s - instants_s[0]))
