"""What the passes of a day say about one another's ends: one driver, one tractor, one phone."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from .candidate_selection import lone_score
from .end_decision import FoundEnd, decide_end, log_odds_of_stand
from .end_likelihood import CAUTION, RAMPS_S, Evidence
from .legs import Leg
from .position_error import ErrorCovariance

Array = NDArray[np.float64]

LEAST_ALIKE = 5
"""So many passes are needed to learn what is usual on a day."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DayEvidence:
    """Runs with the stops on their way and the evidence about their ends."""

    legs: list[Leg]
    position_error: ErrorCovariance
    stops: list[list[tuple[float, float]]]
    starts: list[Evidence | None]
    ends: list[Evidence | None]

    def likelihood(self) -> float:
        """How much a lone leg looks like a pass: length, speed, and standing at its ends."""
        stood = 0.0
        for evidence in self.starts + self.ends:
            if evidence is not None:
                gain = float(evidence.log_stand.max()) - evidence.log_rolling
                stood += 0.5 * min(max(gain, -3.0), 5.0)
        return float(np.log(lone_score(self.legs[0]))) + stood


def decide_ends(day: DayEvidence) -> tuple[list[FoundEnd | None], list[FoundEnd | None]]:
    """All starts and ends of a day, decided together.

    Starts share the ramp of speeding up, ends that of slowing down (one tractor, one phone), and
    whether the tractor stands at both is mostly a habit of the day: all are learnt from the day.
    """
    day = _with_usual_time(day)
    sides = (day.starts, day.ends)
    known = [[e for e in side if e is not None] for side in sides]
    log_ramps = [np.full(len(RAMPS_S), -np.log(len(RAMPS_S)))] * 2
    log_odds_prior = 1.0
    for _ in range(4):
        stood = [
            np.array([log_odds_of_stand(e, ramp) for e in side]) + log_odds_prior
            for side, ramp in zip(known, log_ramps, strict=True)
        ]
        stood = [1 / (1 + np.exp(-np.clip(odds, -50, 50))) for odds in stood]
        share = (sum(p.sum() for p in stood) + 2.0) / (sum(map(len, stood)) + 2.7)
        log_odds_prior = float(np.log(share / (1 - share)))
        log_ramps = [_log_ramp(side, p) for side, p in zip(known, stood, strict=True)]
    late_s = 2.5 if day.position_error.smoothed else 0.0
    starts, ends = (
        [
            None if e is None else decide_end(e, ramp, log_odds_prior, late_s, at_end=at_end)
            for e in side
        ]
        for side, ramp, at_end in zip(sides, log_ramps, (False, True), strict=True)
    )
    return starts, ends


def _with_usual_time(day: DayEvidence) -> DayEvidence:
    """The day with what the time under way on its other passes says about both ends of each.

    Beds of a field are about as long as one another, so one driver takes about the same time for
    each. The scatter of the times is learnt from the day, so on beds of many lengths they say
    little. A t distribution with 4 degrees of freedom lets a single bed differ.
    """
    pairs = list(zip(day.starts, day.ends, strict=True))
    whole = [k for k, (one, two) in enumerate(pairs) if one is not None and two is not None]
    if len(whole) < LEAST_ALIKE:
        return day
    given: dict[tuple[int, bool], Evidence] = {}
    for k in whole:
        one, two = pairs[k]
        assert one is not None
        assert two is not None
        given[k, False], given[k, True] = one, two
    now = dict(given)
    origin = given[whole[0], False].b_s[0]  # sums of seconds since 1970 would lose digits
    stood = [sum(b - a for a, b in day.stops[k]) for k in range(len(pairs))]
    for _ in range(2):
        weight = {key: one.by_instant() for key, one in now.items()}
        instant = {k: (-one.b_s if k[1] else one.b_s) - origin for k, one in given.items()}
        middle = {key: float(weight[key] @ instant[key]) for key in now}
        took = [middle[k, True] - middle[k, False] - stood[k] for k in whole]
        usual = _alike(took, least=max(1.0, 0.01 * float(np.median(took))))
        for k in whole:
            apart = instant[k, True] - instant[k, False][:, None] - stood[k]
            fits = _t4(apart, *usual)
            for side, fit in ((False, fits @ weight[k, True]), (True, weight[k, False] @ fits)):
                one = given[k, side]
                # the caution is for the model of turns; this is none of it
                log_weight = np.log(np.maximum(fit, 1e-12)) / CAUTION
                now[k, side] = replace(one, log_weight=log_weight)
    return replace(
        day,
        starts=[now.get((k, False), one) for k, one in enumerate(day.starts)],
        ends=[now.get((k, True), one) for k, one in enumerate(day.ends)],
    )


def _alike(values: list[float], least: float) -> tuple[float, float]:
    """Median and robust standard deviation (median absolute deviation), at least ``least``."""
    usual = float(np.median(values))
    return usual, max(1.4826 * float(np.median(np.abs(np.array(values) - usual))), least)


def _t4(value: Array, usual: float, scatter: float) -> Array:
    """Density of a t distribution with 4 degrees of freedom, but for a factor."""
    return np.asarray((1 + ((value - usual) / scatter) ** 2 / 4) ** -2.5)


def _log_ramp(evidence: list[Evidence], stood: Array) -> Array:
    """Logarithm of the weight of each ramp, by those ends at which the tractor stood."""
    from scipy.special import log_softmax

    total = np.zeros(len(RAMPS_S))
    for one, p in zip(evidence, stood, strict=True):
        total += CAUTION * p * (one.log_stand - one.log_stand.max())
    return np.asarray(log_softmax(total))
