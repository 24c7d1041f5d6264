"""What a result says, in sentences: the verdict, proposals, and what was found on the way.

Figures stand in the units that the result is to be shown in.
"""

from __future__ import annotations

from collections.abc import Iterable

from ...core.display import PERCENT, ground_scale
from ...core.findings import Severity
from ...core.language import many, say
from ...core.measured import Measured
from ...core.notices import Notice
from ...core.result import Result, Verdict
from ...core.safe_text import visible
from .advice import advice_sentence, rough_percent
from .findings import finding_sentence
from .sources import SOURCE_NAMES
from .turn_sheet import cell_sentences

_SENTENCE_LIMIT = 400
_UNIT_LIMIT = 24


def use_sentence(result: Result) -> str:
    """Which figure to use from now on, or that this run cannot tell."""
    scale, pooled = ground_scale(result.units), result.ground_per_turn
    in_use_m, change = result.seeder.ground_per_gear_turn_in_use_m, result.change
    if result.verdict is Verdict.CANNOT_TELL:
        return _cannot_tell(result)
    new = scale.value(pooled)
    if in_use_m is None or change is None:
        return say("Use {new} of ground per gear turn from now on.", new=new)
    old = scale.value(Measured(in_use_m, pooled.std))
    if result.verdict is Verdict.KEEP:
        return say(
            "The {old} per gear turn in use agrees with this measurement ({change}); no need to "
            "change it.",
            old=old,
            change=PERCENT.show(change),
        )
    figures = {
        "new": new,
        "old": old,
        "size": PERCENT.value(Measured(abs(change.value), change.std)),
        "off": PERCENT.value(Measured(abs(in_use_m / pooled.value - 1), change.std)),
    }
    if change.value > 0:
        return say(
            "Use {new} of ground per gear turn from now on: {size} more than the figure in use, "
            "{old}, with which the stand comes {off} too thin.",
            **figures,
        )
    return say(
        "Use {new} of ground per gear turn from now on: {size} less than the figure in use, {old}, "
        "with which the stand comes {off} too thick.",
        **figures,
    )


def _cannot_tell(result: Result) -> str:
    """Why no figure can be given to use, and what to do first."""
    if result.slip_is_impossible:
        return say(
            "Cannot tell yet: no wheel slips like this. Keep the figure in use until the wheel's "
            "circumference, the gear ratio and the counts were checked."
        )
    if result.most_counts_contradict:
        return say(
            "Cannot tell yet: the counts contradict each other. Check the turn sheet, or count a "
            "few passes again."
        )
    low, high = result.ground_per_turn_95
    wide = rough_percent((high - low) / 2 / result.ground_per_turn.value)
    in_use_m = result.seeder.ground_per_gear_turn_in_use_m
    if in_use_m is None or not low <= in_use_m <= high:
        return say(
            "Cannot tell yet: ± {wide} is too unsure to set a seeder by. See what would make it "
            "surer.",
            wide=wide,
        )
    return say(
        "Cannot tell yet whether to change the {old} in use: it lies within this measurement's "
        "± {wide}, which is too unsure. See what would make it surer.",
        old=ground_scale(result.units).value(Measured(in_use_m, result.ground_per_turn.std)),
        wide=wide,
    )


def rests_sentence(result: Result) -> str:
    """How many passes and row units the figure rests on."""
    return say("Measured {passes} {row_units}.", **_rests(result))


def _rests(result: Result) -> dict[str, str]:
    passes, row_units = len({p.number for p in result.passes}), len(result.row_units)
    return {
        "passes": many(passes, "from {count} pass", "from {count} passes"),
        "row_units": many(row_units, "on {count} row unit", "on {count} row units"),
    }


def sure_sentence(result: Result) -> str:
    """How sure the figure is, and what most of the doubt comes from."""
    pooled, (low, high) = result.ground_per_turn, result.ground_per_turn_95
    figures = {
        **_rests(result),
        "ends": ground_scale(result.units).interval(result.ground_per_turn_95, pooled.std),
        "wide": rough_percent((high - low) / 2 / pooled.value),
    }
    if not result.budget:
        return say(
            "95 % sure to lie within {ends}, that is ± {wide}, {passes} {row_units}.", **figures
        )
    greatest = result.budget[0]
    return say(
        "95 % sure to lie within {ends}, that is ± {wide}, {passes} {row_units}; the greatest "
        "source of doubt is {source} ({share:.0f} % of the variance).",
        **figures,
        source=SOURCE_NAMES[greatest.source],
        share=greatest.share * 100,
    )


def watch_sentences(result: Result) -> tuple[str, ...]:
    """What to look at on the machine: row units that lag first."""
    lagging = (
        say(
            "Unit {unit} turned {share} less than its neighbours on the same passes and is left "
            "out of the figure. With the engine off and the key out, look for a dragging bearing, "
            "a tight or slipping chain, mud, or a worn or soft tyre.",
            unit=visible(unit.unit, _UNIT_LIMIT),
            share=PERCENT.show(_less(turns)),
        )
        for unit in result.row_units
        if unit.lags and (turns := unit.turns_against_others) is not None
    )
    return (*lagging, *_findings(result, "watch"))


def surer_sentences(result: Result) -> tuple[str, ...]:
    """What would make the figure surer."""
    passes = len({p.number for p in result.passes})
    return tuple(advice_sentence(a, passes, result.units) for a in result.advice)


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
    return tuple(visible(notice.said, _SENTENCE_LIMIT) for notice in notices)


def _less(turns: Measured) -> Measured:
    return Measured(1 - turns.value, turns.std)


def _findings(result: Result, severity: Severity) -> tuple[str, ...]:
    return tuple(finding_sentence(f, result) for f in result.findings if f.severity == severity)
