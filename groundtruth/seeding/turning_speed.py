"""Turning speed: how fast the field turns the gear, and whether the bench did the same.

Seeds leave a hole by agitation and gravity, so a gear turned twice as fast drops other numbers a
turn; turning at the bench as the field turns it is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence

from ..core.bounds import refuse_outside
from ..core.counts import BenchCount
from ..core.errors import InputError
from ..core.language import English
from ..core.notices import Notice

MOST_RATIO = 1.5
"""A bench turned this much faster or slower than the field is remarked on; common practice, no
source for the number."""


def turns_per_minute(speed_m_s: float, ground_per_turn_m: float) -> float:
    """Gear turns a minute at a field speed, 60·v/L. [1/min]

    >>> turns_per_minute(1.2, 0.8)
    90.0

    Raises
    ------
    InputError : a figure is not above 0, or out of its bounds.
    """
    if not speed_m_s > 0:
        raise InputError(f"speed is {speed_m_s:g} m/s; it must be above 0")
    if not ground_per_turn_m > 0:
        raise InputError(f"ground per turn is {ground_per_turn_m:g} m; it must be above 0")
    refuse_outside("speed", speed_m_s, "speed")
    refuse_outside("ground per turn", ground_per_turn_m, "ground_per_turn")
    return 60 * speed_m_s / ground_per_turn_m


def _slower(turns: float, field: float) -> English:
    return English(
        "turned at {turns:.0f} turns a minute, much slower than the field's {field:.0f}; catch "
        "again at the field's speed",
        turns=turns,
        field=field,
    )


def _faster(turns: float, field: float) -> English:
    return English(
        "turned at {turns:.0f} turns a minute, much faster than the field's {field:.0f}; catch "
        "again at the field's speed",
        turns=turns,
        field=field,
    )


def turning_notices(counts: Sequence[BenchCount], field_per_minute: float) -> tuple[Notice, ...]:
    """A warning for catches turned much slower or faster than the field turns the gear.

    >>> from groundtruth import Measured
    >>> catch = BenchCount(
    ...     crop="", seed_lot="", setting="9", turns=6, seeds=Measured(90), turns_per_minute=40
    ... )
    >>> print(turning_notices([catch], 90)[0])
    turned at 40 turns a minute, much slower than the field's 90; catch again at the field's speed
    """
    found = []
    for said, low, high in (
        (_slower, 0.0, field_per_minute / MOST_RATIO),
        (_faster, field_per_minute * MOST_RATIO, float("inf")),
    ):
        odd = [(c.line, c.turns_per_minute) for c in counts if c.turns_per_minute]
        odd = [(line, rate) for line, rate in odd if low <= rate < high]
        if odd:
            mean = sum(rate for _, rate in odd) / len(odd)
            found.append(
                Notice(
                    kind="warning",
                    text=said(mean, field_per_minute),
                    count=len(odd),
                    where=English("bench line {line}", line=odd[0][0]) if odd[0][0] else "",
                )
            )
    return tuple(found)
