"""What would make the figure surer, and by how much.

The outlook follows from the budget of the uncertainty: what falls with the number of passes, what
with their length, what a tape or standing at the ends would remove.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import ceil, sqrt

from ..core.assumptions import TAPE_HALF_WIDTH_M
from ..core.findings import Advice, AdviceKind
from ..core.measured import rectangular_std
from ..core.uncertainty import UncertaintySource
from ..estimator import Stretch, rough_variance
from .slip import Pooled

GOALS = (0.05, 0.03, 0.02, 0.01, 0.005, 0.003)
"""Half-widths of the 95 % interval to offer as the next goal, relative."""
WORTH = 0.85
"""A proposal is worth making if it brings the interval below this share of today's."""
MOST_PASSES = 60
ENDS_MATTER = 0.1
"""Standing still is proposed where the ends make at least this share of the variance."""

PLACE = (UncertaintySource.POSITION, UncertaintySource.ENDS, UncertaintySource.INSTANTS)
FIXED = (UncertaintySource.SLOPE, UncertaintySource.WINDING)


def advise(
    pooled: Pooled, *, noise: Mapping[str, float], stretches: Sequence[Stretch]
) -> tuple[Advice, ...]:
    """Proposals in the order in which they are worth looking at.

    ``noise`` are the day's parameters of the position noise (see `DayTravel`), ``stretches`` the
    passes that were measured.
    """
    now = _half_width_95(pooled)
    variance = {s.source: (s.std_m / pooled.ground_per_turn.value) ** 2 for s in pooled.budget}
    total = sum(variance.values())
    # the interval of few passes is wider than the normal one; keep that ratio in the outlook
    reach = now / max(sqrt(total), 1e-12)
    passes = len(stretches)
    fixed = sum(v for s, v in variance.items() if s in FIXED)
    proposals = [
        p
        for p in _other_ways(variance, noise, stretches, reach)
        if p.half_width_95 is not None and p.half_width_95 < WORTH * now
    ]
    goal = next((g for g in GOALS if g < WORTH * now), None)
    room = (goal / reach) ** 2 - fixed if goal is not None else 0.0
    if room > 0:
        needed = ceil(passes * (total - fixed) / room)
        if needed <= MOST_PASSES:
            more = Advice(kind=AdviceKind.MORE_PASSES, passes=needed, half_width_95=goal)
            proposals.insert(0, more)
        else:
            many = Advice(kind=AdviceKind.MANY_MORE_PASSES, passes=needed, half_width_95=goal)
            proposals.append(many)
    if passes < 3:
        proposals.append(Advice(kind=AdviceKind.THREE_PASSES))
    return tuple(proposals)


def _half_width_95(pooled: Pooled) -> float:
    low, high = pooled.ground_per_turn_95
    return (high - low) / 2 / pooled.ground_per_turn.value


def _other_ways(
    variance: Mapping[UncertaintySource, float],
    noise: Mapping[str, float],
    stretches: Sequence[Stretch],
    reach: float,
) -> list[Advice]:
    """A tape, longer passes and standing still, the best first.

    ``variance`` are the relative variances by source, ``reach`` half the 95 % interval over the
    standard uncertainty.
    """
    total, passes, length_m = sum(variance.values()), len(stretches), _mean_length_m(stretches)
    fixed = sum(v for s, v in variance.items() if s in FIXED)
    place = sum(v for s, v in variance.items() if s in PLACE)
    ends = place - variance.get(UncertaintySource.POSITION, 0.0)
    counting = variance.get(UncertaintySource.COUNTING, 0.0)

    def half_width(relative_variance: float) -> float:
        return reach * sqrt(max(relative_variance, 0.0))

    tape = rectangular_std(TAPE_HALF_WIDTH_M) / length_m
    taped = total - place - fixed + tape**2 / passes
    longer = total - place - counting
    longer += (place - ends) * _on_longer(noise, stretches) + (ends + counting) / 4
    ways = [
        Advice(kind=AdviceKind.TAPE, half_width_95=half_width(taped)),
        Advice(
            kind=AdviceKind.LONGER_PASSES,
            pass_length_m=2 * length_m,
            half_width_95=half_width(longer),
        ),
    ]
    if ends > ENDS_MATTER * total:
        ways.append(Advice(kind=AdviceKind.STAND, half_width_95=half_width(total - ends)))
    return sorted(ways, key=lambda way: way.half_width_95 or 0.0)


def _mean_length_m(stretches: Sequence[Stretch]) -> float:
    lengths = [s.rough_speed_m_s * s.driven_s for s in stretches]
    return max(sum(lengths) / len(lengths), 1.0)


def _on_longer(noise: Mapping[str, float], stretches: Sequence[Stretch]) -> float:
    """Relative variance from position noise on passes twice as long, over today's. [-]

    Of a doubled length the variance of a doubled time counts a quarter.
    """
    seconds = sum(s.driven_s for s in stretches) / len(stretches)
    return rough_variance(noise, 2 * seconds) / rough_variance(noise, seconds) / 4
