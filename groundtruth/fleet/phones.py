"""Which phones of a fleet fall short of the others."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log

import numpy as np
from numpy.typing import NDArray

from ..core.errors import InputError
from ..stats.false_discoveries import discoveries
from .data_set import Fleet
from .seeders import FALSE_SHARE

Array = NDArray[np.float64]

WORSE = 1.25
"""A phone falls short where the distances that it gives are more unsure than those of the others
by more than this factor. Our choice."""
LEAST_RUNS = 3
"""Runs below which nothing is said of a phone."""

_PHONES = """
SELECT coalesce(nullif(phone, ''), 'not known') AS phone, run_key, farm_key,
  exp(avg(ln(p.distance_std_m))) AS distance_std_m,
  any_value(fixes_set_aside / nullif(fixes, 0)) AS set_aside
FROM passes p JOIN runs r USING (run_key)
WHERE r.status = 'measured' AND r.receiver <> 'centimetre' AND p.distance_std_m > 0
GROUP BY ALL ORDER BY ALL
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class PhoneStanding:
    """A model of phone: the standard uncertainty of a pass's length (m, geometric mean over runs),
    over that of all other phones with its 95 % interval, and fixes set aside (share)."""

    phone: str
    runs: int
    farms: int
    distance_std_m: float
    against_others: float | None
    against_others_95: tuple[float, float] | None
    set_aside: float | None
    falls_short: bool


def phone_standings(fleet: Fleet) -> tuple[PhoneStanding, ...]:
    """Each phone against all others, the worst first.

    Logarithms of the runs' uncertainties are compared by Welch's t [Welch 1947, Biometrika 34:28];
    a phone falls short where "no worse than 1.25 times the others" is rejected, with all phones
    asked at once (`stats.false_discoveries`).

    Raises
    ------
    InputError : no pass was recorded by a phone.
    """
    rows = fleet.asked(_PHONES)
    if not len(rows["phone"]):
        raise InputError(f"{fleet.folder}: no pass of a phone")
    names, place = np.unique(rows["phone"].astype(str), return_inverse=True)
    logs = np.log(rows["distance_std_m"])
    sides = [_against(logs[place == k], logs[place != k]) for k in range(len(names))]
    short = discoveries(np.array([1.0 if s is None else s[3] for s in sides]), FALSE_SHARE)
    found = []
    for k, (name, side) in enumerate(zip(names.tolist(), sides, strict=True)):
        mine = place == k
        aside = rows["set_aside"][mine]
        known = aside[np.isfinite(aside)]
        found.append(
            PhoneStanding(
                phone=name,
                runs=int(mine.sum()),
                farms=len(set(rows["farm_key"][mine])),
                distance_std_m=exp(float(logs[mine].mean())),
                against_others=None if side is None else side[0],
                against_others_95=None if side is None else side[1:3],
                set_aside=float(known.mean()) if len(known) else None,
                falls_short=bool(short[k]),
            )
        )
    return tuple(sorted(found, key=lambda one: -one.distance_std_m))


def _against(mine: Array, others: Array) -> tuple[float, float, float, float] | None:
    """Ratio with its interval and the p-value of "no worse"; None with too few runs."""
    if min(len(mine), len(others)) < LEAST_RUNS:
        return None
    from scipy.special import stdtr, stdtrit

    parts = [float(side.var(ddof=1)) / len(side) for side in (mine, others)]
    std = max(sum(parts), 1e-12) ** 0.5
    squares = sum(v**2 / (len(s) - 1) for v, s in zip(parts, (mine, others), strict=True))
    degrees = std**4 / squares if squares > 0 else 1e6
    difference = float(mine.mean() - others.mean())
    reach = float(stdtrit(degrees, 0.975)) * std
    p_value = float(stdtr(degrees, -(difference - log(WORSE)) / std))
    return exp(difference), exp(difference - reach), exp(difference + reach), p_value
