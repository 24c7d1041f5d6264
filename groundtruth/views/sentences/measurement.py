"""What a result says, in sentences: the verdict, proposals, and what was found on the way.

Figures stand in the units that the result is to be shown in.
"""

from __future__ import annotations

from collections.abc import Iterable
from zoneinfo import ZoneInfo

from ...core.assumptions import TAPE_HALF_WIDTH_M
from ...core.display import PERCENT, distance_scale, ground_scale, many, time_of_day
from ...core.findings import Advice, AdviceKind, Finding, FindingKind, ReceiverEvidence, Severity
from ...core.measured import Measured
from ...core.notices import Notice
from ...core.result import Result, Verdict
from ...core.run import UnitSystem
from ...core.safe_text import visible
from ...core.uncertainty import UncertaintySource
from ...core.units import FOOT
from .turn_sheet import cell_sentences, sheet_sentence

_SENTENCE_LIMIT = 400
_UNIT_LIMIT = 24
_LENGTH_STEP_M = {"metric": 5.0, "us": 10 * FOOT.value}
"""Lengths of passes that are only proposed are round."""

SOURCE_NAMES = {
    UncertaintySource.POSITION: "the position noise",
    UncertaintySource.ENDS: "the ends of the passes",
    UncertaintySource.INSTANTS: "the instants in the turn sheet",
    UncertaintySource.SLOPE: "the slope",
    UncertaintySource.WINDING: "the bow and weave",
    UncertaintySource.TAPED: "the taped lengths",
    UncertaintySource.PEGGED: "the shared headland lines",
    UncertaintySource.COUNTING: "counting turns",
    UncertaintySource.ROW_UNITS: "the difference between row units on one pass",
    UncertaintySource.PASSES: "the spread between passes",
}


_EVIDENCE = {
    ReceiverEvidence.RUN_FILE: "the run description says so",
    ReceiverEvidence.FIX_QUALITY: "its fixes lie straight and are marked as corrected",
    ReceiverEvidence.ACCURACY: "its fixes lie straight and report centimetres as their accuracy",
    ReceiverEvidence.RATE: "its fixes lie straight and come several a second, as no phone gives "
    'them; write receiver = "phone" into the run description if it was one',
}


def use_sentence(result: Result) -> str:
    """Which figure to use from now on, or that this run cannot tell."""
    scale, pooled = ground_scale(result.units), result.ground_per_turn
    in_use_m, change = result.seeder.ground_per_gear_turn_in_use_m, result.change
    if result.verdict is Verdict.CANNOT_TELL:
        return _cannot_tell(result)
    text = f"Use {scale.value(pooled)} of ground per gear turn from now on"
    if in_use_m is None or change is None:
        return f"{text}."
    old = scale.value(Measured(in_use_m, pooled.std))
    if result.verdict is Verdict.KEEP:
        return (
            f"The {old} per gear turn in use agrees with this measurement "
            f"({PERCENT.show(change)}); no need to change it."
        )
    effect, more = ("too thin", "more") if change.value > 0 else ("too thick", "less")
    size = PERCENT.value(Measured(abs(change.value), change.std))
    off = PERCENT.value(Measured(abs(in_use_m / pooled.value - 1), change.std))
    return (
        f"{text}: {size} {more} than the figure in use, {old}, with which the stand comes "
        f"{off} {effect}."
    )


def _cannot_tell(result: Result) -> str:
    """Why no figure can be given to use, and what to do first."""
    if result.slip_is_impossible:
        return (
            "Cannot tell yet: no wheel slips like this. Keep the figure in use until the wheel's "
            "circumference, the gear ratio and the counts were checked."
        )
    if result.most_counts_contradict:
        return (
            "Cannot tell yet: the counts contradict each other. Check the turn sheet, or count a "
            "few passes again."
        )
    low, high = result.ground_per_turn_95
    wide = _percent((high - low) / 2 / result.ground_per_turn.value)
    in_use_m = result.seeder.ground_per_gear_turn_in_use_m
    if in_use_m is None or not low <= in_use_m <= high:
        return (
            f"Cannot tell yet: ± {wide} is too unsure to set a seeder by. See what would make it "
            "surer."
        )
    old = ground_scale(result.units).value(Measured(in_use_m, result.ground_per_turn.std))
    return (
        f"Cannot tell yet whether to change the {old} in use: it lies within this measurement's "
        f"± {wide}, which is too unsure. See what would make it surer."
    )


def sure_sentence(result: Result) -> str:
    """How sure the figure is, and what most of the doubt comes from."""
    pooled, (low, high) = result.ground_per_turn, result.ground_per_turn_95
    ends = ground_scale(result.units).interval(result.ground_per_turn_95, pooled.std)
    passes = many(len({p.number for p in result.passes}), "pass", "passes")
    row_units = many(len(result.row_units), "row unit", "row units")
    text = (
        f"95 % sure to lie within {ends}, that is ± {_percent((high - low) / 2 / pooled.value)}, "
        f"from {passes} on {row_units}"
    )
    if not result.budget:
        return f"{text}."
    greatest = result.budget[0]
    return (
        f"{text}; the greatest source of doubt is {SOURCE_NAMES[greatest.source]} "
        f"({greatest.share * 100:.0f} % of the variance)."
    )


def watch_sentences(result: Result) -> tuple[str, ...]:
    """What to look at on the machine: row units that lag first."""
    lagging = (
        f"Unit {visible(unit.unit, _UNIT_LIMIT)} turned {PERCENT.show(_less(turns))} less than its "
        "neighbours on the same passes and is left out of the figure. With the engine off and the "
        "key out, look for a dragging bearing, a tight or slipping chain, mud, or a worn or soft "
        "tyre."
        for unit in result.row_units
        if unit.lags and (turns := unit.turns_against_others) is not None
    )
    return (*lagging, *_findings(result, "watch"))


def surer_sentences(result: Result) -> tuple[str, ...]:
    """What would make the figure surer."""
    passes = len({p.number for p in result.passes})
    return tuple(_advice(a, passes, result.units) for a in result.advice)


def warning_sentences(result: Result) -> tuple[str, ...]:
    """What should make the reader think again."""
    warnings = notice_sentences(result.warnings)
    return (*cell_sentences(result), *_findings(result, "warning"), *warnings)


def repair_sentences(result: Result) -> tuple[str, ...]:
    """What was mended or left out in the input."""
    return (*notice_sentences(result.repairs), *_findings(result, "repair"))


def fact_sentences(result: Result) -> tuple[str, ...]:
    """What is worth knowing about the input."""
    return (*notice_sentences(result.facts), *_findings(result, "fact"))


def notice_sentences(notices: Iterable[Notice]) -> tuple[str, ...]:
    """What a reader of files remarked, each with its place and count."""
    return tuple(visible(str(notice), _SENTENCE_LIMIT) for notice in notices)


def _less(turns: Measured) -> Measured:
    return Measured(1 - turns.value, turns.std)


def _percent(share: float) -> str:
    return f"{share * 100:.{1 if share >= 0.00995 else 2}f} %"


def _advice(advice: Advice, passes: int, units: UnitSystem) -> str:
    if advice.kind is AdviceKind.THREE_PASSES:
        return (
            "With fewer than three passes the change from pass to pass is assumed, not measured; "
            "three or more would show it."
        )
    assert advice.half_width_95 is not None  # held by Advice for all other kinds
    goal = f"± {_percent(advice.half_width_95)}"
    if advice.kind is AdviceKind.MANY_MORE_PASSES:
        return f"More passes like these are a slow way: {goal} would take {advice.passes}."
    return f"{_way(advice, passes, units)} would bring it to {goal}."


def _way(advice: Advice, passes: int, units: UnitSystem) -> str:
    scale = distance_scale(units)
    if advice.kind is AdviceKind.MORE_PASSES:
        return f"{advice.passes} passes like these instead of {passes}"
    if advice.kind is AdviceKind.TAPE:
        limits = f"{scale.number(TAPE_HALF_WIDTH_M, 1)} {scale.unit}"
        return f"Taping the length of these {many(passes, 'bed', 'beds')} (to ± {limits})"
    if advice.kind is AdviceKind.LONGER_PASSES:
        assert advice.pass_length_m is not None  # held by Advice
        step_m = _LENGTH_STEP_M[units]
        length = scale.number(round(advice.pass_length_m / step_m) * step_m, 0)
        return f"Passes twice as long (about {length} {scale.unit})"
    return "Standing still for 10 s at both ends of each pass"


def _findings(result: Result, severity: Severity) -> tuple[str, ...]:
    return tuple(_finding(f, result) for f in result.findings if f.severity == severity)


def _finding(found: Finding, result: Result) -> str:
    numbers = ", ".join(map(str, found.passes))
    match found.kind:
        case FindingKind.TURNED_MORE:
            return (
                "The gear turned more often than a rolling wheel can drive it: check the wheel's "
                "circumference, the gear ratio and what was counted."
            )
        case FindingKind.MUCH_SLIP:
            return (
                "So much slip is rare: check the wheel's circumference and the gear ratio first, "
                "then look for a wheel that drags or runs clear of the ground."
            )
        case FindingKind.DROVE_ON | FindingKind.END_UNSEEN:
            return f"pass {numbers}: {_end_in_doubt(found, result)}"
        case FindingKind.TOO_UNSURE:
            return (
                f"pass {numbers}: the track holds too little of it to tell how far it went; "
                "left out of the figure"
            )
        case FindingKind.JUMPED:
            times = f" ({found.fixes} times)" if found.fixes != 1 else ""
            return (
                f"pass {numbers}: fixes that jumped aside together for some seconds were left out "
                f"of the distance, as when signals come off walls or trees{times}"
            )
        case FindingKind.NO_HEIGHTS:
            high = "3000 ft by 0.014 %" if result.units == "us" else "1000 m by 0.016 %"
            return (
                "the track carries no heights, so slope and height above the ellipsoid are left "
                f"out: a slope of 5 % lengthens the ground by 0.12 %, a height of {high}"
            )
        case FindingKind.CENTIMETRE_RECEIVER:
            assert found.evidence is not None  # held by Finding
            return f"the track is taken as good to centimetres, since {_EVIDENCE[found.evidence]}"
        case FindingKind.UNCOUNTED:
            count = many(len(found.passes), "pass", "passes")
            return f"{count} of the track without a turn count: {numbers} in order of time"
        case _:
            return sheet_sentence(found, result)


def _end_in_doubt(found: Finding, result: Result) -> str:
    """Why a pass is left out: its end was not seen, or the sheet puts it elsewhere."""
    assert found.from_s is not None  # these three held by Finding
    assert found.until_s is not None
    zone = ZoneInfo(result.time_zone)
    first, last = (time_of_day(t, zone) for t in (found.from_s, found.until_s))
    if found.kind is FindingKind.END_UNSEEN:
        return (
            f"the track has no fix from {first} to {last}, where its {found.end} was; the pass is "
            "left out"
        )
    assert found.along_m is not None
    scale = distance_scale(result.units)
    # the sheet's instant lies outside the end found: before a start, after an end
    in_sheet, in_track = (first, last) if found.end == "start" else (last, first)
    return (
        f"the sheet's {found.end}, {in_sheet}, lies {found.until_s - found.from_s:.0f} s and "
        f"{scale.number(found.along_m, 0)} {scale.unit} in line from the {found.end} found in the "
        f"track, {in_track}; the pass is left out, check its times"
    )
