"""The verdict in words: which figure to use, how sure it is, what would make it surer.

Every sentence is computed from the run. The outlook follows from the budget: what falls with the
number of passes, what with their length, what a tape or standing at the ends would remove.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import ceil, exp, sqrt

from ..core.assumptions import TAPE_HALF_WIDTH_M
from ..core.display import PERCENT, distance_scale, ground_scale, many
from ..core.measured import Measured, rectangular_std
from ..core.result import Advice
from ..core.run import UnitSystem
from ..core.uncertainty import UncertaintySource
from ..core.units import parse_length
from ..estimator import Stretch
from .slip import Pooled

GOALS = (0.05, 0.03, 0.02, 0.01, 0.005, 0.003)
"""Half-widths of the 95 % interval to offer as the next goal, relative."""
WORTH = 0.85
"""A proposal is worth a sentence if it brings the interval below this share of today's."""
MOST_PASSES = 60
K95 = 1.96

PLACE = (UncertaintySource.POSITION, UncertaintySource.ENDS, UncertaintySource.INSTANTS)
FIXED = (UncertaintySource.SLOPE, UncertaintySource.WINDING)


def verdict(
    pooled: Pooled,
    *,
    units: UnitSystem,
    in_use_m: float | None,
    noise: Mapping[str, float],
    stretches: Sequence[Stretch],
) -> tuple[Advice, ...]:
    """Sentences in the order in which a grower needs them."""
    return (
        *_watch(pooled),
        _use(pooled, units, in_use_m),
        _sure(pooled, units, len(stretches)),
        *_surer(pooled, noise, stretches, units),
    )


def _use(pooled: Pooled, units: UnitSystem, in_use_m: float | None) -> Advice:
    scale = ground_scale(units)
    ground = pooled.ground_per_turn
    figure = scale.value(ground)
    text = f"Use {figure} of ground per gear turn from now on"
    if in_use_m is None:
        return Advice(kind="use", text=text + ".")
    low, high = (end / in_use_m - 1 for end in pooled.ground_per_turn_95)
    change = Measured(ground.value / in_use_m - 1, ground.std / in_use_m)
    old = scale.value(Measured(in_use_m, ground.std))
    if low <= 0 <= high:
        return Advice(
            kind="use",
            text=f"The {old} per gear turn in use agrees with this measurement "
            f"({PERCENT.show(change)}); no need to change it.",
        )
    stand = abs(in_use_m / ground.value - 1)
    effect = "too thin" if change.value > 0 else "too thick"
    more = "more" if change.value > 0 else "less"
    size = PERCENT.value(Measured(abs(change.value), change.std))
    off = PERCENT.value(Measured(stand, change.std))
    return Advice(
        kind="use",
        text=f"{text}: {size} {more} than the {old} used until now, with which the stand comes "
        f"{off} {effect}.",
    )


def _half_width(pooled: Pooled) -> float:
    low, high = pooled.ground_per_turn_95
    return (high - low) / 2 / pooled.ground_per_turn.value


def _sure(pooled: Pooled, units: UnitSystem, passes: int) -> Advice:
    ends = ground_scale(units).interval(pooled.ground_per_turn_95, pooled.ground_per_turn.std)
    greatest = pooled.budget[0]
    row_units = many(len(pooled.units), "row unit", "row units")
    counted = f"{many(passes, 'pass', 'passes')} on {row_units}"
    return Advice(
        kind="sure",
        text=f"95 % sure to lie within {ends}, that is ± {_percent(_half_width(pooled))}, from "
        f"{counted}; the greatest source of doubt is {_name(greatest.source)} "
        f"({greatest.share * 100:.0f} % of the variance).",
    )


def _name(source: str) -> str:
    return source if source.startswith(("between", "counting")) else f"the {source}"


def _percent(share: float) -> str:
    text = f"{share * 100:.1f}" if share >= 0.00995 else f"{share * 100:.2f}"
    return f"{text} %"


def _surer(
    pooled: Pooled, noise: Mapping[str, float], stretches: Sequence[Stretch], units: UnitSystem
) -> tuple[Advice, ...]:
    ground = pooled.ground_per_turn.value
    variance = {s.source: (s.std_m / ground) ** 2 for s in pooled.budget}
    now = _half_width(pooled)
    # the interval of few passes is wider than 1.96 u; keep that ratio in the outlook
    stretch = now / max(K95 * sqrt(sum(variance.values())), 1e-12)
    passes = len(stretches)
    fixed = sum(v for s, v in variance.items() if s in FIXED)
    place = sum(v for s, v in variance.items() if s in PLACE)
    ends = place - variance.get(UncertaintySource.POSITION, 0.0)
    counting = variance.get(UncertaintySource.COUNTING, 0.0)
    total = sum(variance.values())

    def width(relative_variance: float) -> float:
        return stretch * K95 * sqrt(max(relative_variance, 0.0))

    offers: list[tuple[float, str]] = []
    tape = rectangular_std(TAPE_HALF_WIDTH_M) / _mean_length(stretches)
    taped = width(total - place - fixed + tape**2 / passes)
    tape_limits = distance_scale(units)
    limits = f"{tape_limits.number(TAPE_HALF_WIDTH_M, 1)} {tape_limits.unit}"
    offers.append(
        (taped, f"taping the length of these {many(passes, 'bed', 'beds')} (to ± {limits})")
    )
    ratio = _longer(noise, stretches)
    longer = width(total - place - counting + (place - ends) * ratio + (ends + counting) / 4)
    twice = _shown_length(2 * _mean_length(stretches), units)
    offers.append((longer, f"passes twice as long (about {twice})"))
    if ends > 0.1 * total:
        offers.append((width(total - ends), "standing still for 10 s at both ends of each pass"))
    sentences = [
        Advice(kind="surer", text=f"{what[0].upper()}{what[1:]} would bring it to ± {_percent(w)}.")
        for w, what in sorted(offers)
        if w < WORTH * now
    ]
    goal = next((g for g in GOALS if g < WORTH * now), None)
    if goal is not None:
        room = (goal / (stretch * K95)) ** 2 - fixed
        needed = ceil(passes * (total - fixed) / room) if room > 0 else None
        if needed is not None and needed <= MOST_PASSES:
            sentences.insert(
                0,
                Advice(
                    kind="surer",
                    text=f"{needed} passes like these instead of {passes} would bring it to "
                    f"± {_percent(goal)}.",
                ),
            )
        elif needed is not None:
            sentences.append(
                Advice(
                    kind="surer",
                    text=f"More passes like these are a slow way: ± {_percent(goal)} would take "
                    f"{needed}.",
                )
            )
    if passes < 3:
        sentences.append(
            Advice(
                kind="surer",
                text="With fewer than three passes the change from pass to pass is assumed, not "
                "measured; three or more would show it.",
            )
        )
    return tuple(sentences)


def _mean_length(stretches: Sequence[Stretch]) -> float:
    lengths = [s.rough_speed_m_s * s.driven_s for s in stretches]
    return max(sum(lengths) / len(lengths), 1.0)


def _longer(noise: Mapping[str, float], stretches: Sequence[Stretch]) -> float:
    """Relative variance from position noise on passes twice as long, over today's. [-]

    u² ≈ 2·s²·(1 − exp(−T/τ)) + 2·m² for ends that rest on the fixes near them; halved relative to
    a doubled length it falls to a quarter of its doubled-time value.
    """
    seconds = sum(s.driven_s for s in stretches) / len(stretches)

    def square(duration: float) -> float:
        slow = noise["slow_m"] ** 2 * (1 - exp(-duration / noise["slow_s"]))
        return slow + noise["medium_m"] ** 2 / 4

    return square(2 * seconds) / square(seconds) / 4


def _shown_length(metres: float, units: UnitSystem) -> str:
    step = parse_length("10 ft") if units == "us" else 5.0
    scale = distance_scale(units)
    return f"{scale.number(round(metres / step) * step, 0)} {scale.unit}"


def _watch(pooled: Pooled) -> tuple[Advice, ...]:
    advice = []
    for unit in pooled.units:
        if unit.lags and unit.turns_against_others is not None:
            less = Measured(1 - unit.turns_against_others.value, unit.turns_against_others.std)
            advice.append(
                Advice(
                    kind="watch",
                    text=f"Unit {unit.unit} turned {PERCENT.show(less)} less than its neighbours "
                    "on the same passes and is left out of the figure. With the engine off and "
                    "the key out, look for a dragging bearing, a tight or slipping chain, mud, or "
                    "a worn or soft tyre.",
                )
            )
    if pooled.slip_95 is not None:
        low, high = pooled.slip_95
        if high < -0.01:
            advice.append(
                Advice(
                    kind="watch",
                    text="The gear turned more often than a rolling wheel can drive it: check the "
                    "wheel's circumference, the gear ratio and what was counted.",
                )
            )
        elif low > 0.15:
            advice.append(
                Advice(
                    kind="watch",
                    text="So much slip is rare: check the wheel's circumference and the gear ratio "
                    "first, then look for a wheel that drags or runs clear of the ground.",
                )
            )
    return tuple(advice)
