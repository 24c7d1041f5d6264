"""What was found out about the turn sheet, in sentences: its clock, its rows and its cells."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from ...core.display import distance_scale, span, time_of_day
from ...core.findings import Finding, FindingKind
from ...core.language import decimals, many, say
from ...core.measured import K95
from ...core.result import CellReason, CellVerdict, Judgement, Result
from ...core.safe_text import visible

_UNIT_LIMIT = 24
_MOST_CELLS = 12


def cell_sentences(result: Result) -> tuple[str, ...]:
    """A sentence for each count that is doubtful or left out, but for whole passes."""
    told = [
        c for c in result.cells if c.verdict is not Judgement.AGREES and not _by_pass(c, result)
    ]
    shown = [_cell(c) for c in told[:_MOST_CELLS]]
    if len(told) > _MOST_CELLS:
        shown.append(
            many(
                len(told) - _MOST_CELLS,
                "{count} more count is doubtful or left out",
                "{count} more counts are doubtful or left out",
            )
        )
    return tuple(shown)


def _by_pass(cell: CellVerdict, result: Result) -> bool:
    """Whether the count is left out with its whole pass, of which a finding tells."""
    off = {n for f in result.findings if f.kind is FindingKind.PASS_OFF for n in f.passes}
    return cell.reason is CellReason.GROUND and cell.number in off


def _where(cell: CellVerdict) -> str:
    at = {"number": cell.number, "unit": visible(cell.unit, _UNIT_LIMIT)}
    if cell.line:
        return say("line {line}, turns: pass {number}, unit {unit}", line=cell.line, **at)
    return say("turns: pass {number}, unit {unit}", **at)


def _cell(cell: CellVerdict) -> str:
    left = cell.verdict is Judgement.LEFT_OUT
    if cell.reason is CellReason.TIMES:
        what = say("left out of the figure") if left else say("counts for less in the figure")
        return say(
            "{where}: its times differ from those of the pass's other units while the tractor was "
            "under way; {what}. Read all units between the same two places.",
            where=_where(cell),
            what=what,
        )
    assert cell.expected is not None
    low, high = (decimals(f"{end:g}") for end in cell.expected)
    figures = {"where": _where(cell), "expected": low if low == high else span(low, high)}
    said = (
        say("{where}: {turns:g} turns; the track says {expected}.", turns=cell.turns, **figures)
        if cell.reason is CellReason.GROUND
        else say(
            "{where}: {turns:g} turns; its neighbours say {expected}.", turns=cell.turns, **figures
        )
    )
    ask = say("Is it {turns:g}?", turns=cell.suggestion) if cell.suggestion is not None else ""
    if cell.reason is CellReason.EXCHANGED:
        ask = say("Do the counts of two units stand in each other's place?")
    what = (
        say("It is left out of the figure.") if left else say("It counts for less in the figure.")
    )
    return " ".join(filter(None, (said, ask, what)))


def sheet_sentence(found: Finding, result: Result) -> str:
    """What is to be said of the sheet's clock or of one of its rows."""
    row = _row(found, result)
    match found.kind:
        case FindingKind.CLOCK_OFF | FindingKind.CLOCK_FAR_OFF:
            return _clock(found)
        case FindingKind.NOT_RECORDED:
            return say("{row} was not recorded, or not to its end; it is left out", row=row)
        case FindingKind.NO_PASS if found.from_s is not None and found.until_s is not None:
            return say(
                "{row}: no pass of the track was found at that time; it is left out", row=row
            )
        case FindingKind.NO_PASS:
            return say("{row}: no pass of the track was found for it; it is left out", row=row)
        case FindingKind.SAME_PASS:
            return say("{row}: another row has the same times; it is left out, check both", row=row)
        case FindingKind.ROW_DOUBLED:
            return say("{row} says the same as another row; it is left out", row=row)
        case FindingKind.SEVERAL_PASSES:
            return say("{row} covers several passes of the track; it is left out", row=row)
        case FindingKind.TIMES_DIFFER:
            return say(
                "{row} covers no time under way; it is left out, check the two times", row=row
            )
        case FindingKind.GUESSED:
            return say(
                "the sheet has no times, and not as many rows as the track has passes; they were "
                "brought together in order, by lengths and counts: check which belongs to which"
            )
        case FindingKind.RUNNING_COUNTER:
            return say(
                "the turns rise from pass to pass as on a counter that is not set back; each was "
                "taken less the one before. If they are counts of each pass, something else is "
                "wrong with them"
            )
        case FindingKind.TAPED_OFF:
            return _taped(found, result)
        case _:
            return _pass_off(found)


def _row(found: Finding, result: Result) -> str:
    """The row of the sheet by its line, pass and times."""
    numbers = ", ".join(map(str, found.passes))
    row = (
        say("line {line}: pass {number}", line=found.line, number=numbers)
        if found.line
        else say("pass {number}", number=numbers)
    )
    if found.from_s is None or found.until_s is None:
        return row
    zone = ZoneInfo(result.time_zone)
    return f"{row}, {span(time_of_day(found.from_s, zone), time_of_day(found.until_s, zone))}"


def _clock(found: Finding) -> str:
    assert found.offset is not None
    off, drift = found.offset, found.drift_s_per_h or 0.0
    size = f"{_duration(abs(off.value))} ± {max(K95 * off.std, 1):.0f} s".replace(" s ±", " ±")
    text = (
        say("the sheet's clock is {time} ahead of the phone's", time=size)
        if off.value > 0
        else say("the sheet's clock is {time} behind the phone's", time=size)
    )
    if drift > 0:
        text += say(" and gains {seconds:.0f} s an hour", seconds=abs(drift))
    elif drift:
        text += say(" and loses {seconds:.0f} s an hour", seconds=abs(drift))
    if found.kind is FindingKind.CLOCK_FAR_OFF:
        return say("{clock}; its times were corrected. Is that so?", clock=text)
    return say("{clock}; its times were corrected", clock=text)


def _duration(seconds: float) -> str:
    """11 s, 2 min 5 s, 1 h 0 min 3 s."""
    if seconds < 100:
        return f"{seconds:.0f} s"
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours} h {minutes} min {rest} s" if hours else f"{minutes} min {rest} s"


def _taped(found: Finding, result: Result) -> str:
    assert found.written is not None
    assert found.expected is not None
    scale = distance_scale(result.units)
    low, high = (scale.number(end, 0) for end in found.expected)
    return say(
        "pass {number}: taped {taped} {unit}, where the phone says {low} to {high} {unit}; the "
        "tape is left out, check it",
        number=", ".join(map(str, found.passes)),
        taped=scale.number(found.written, 1),
        low=low,
        high=high,
        unit=scale.unit,
    )


def _pass_off(found: Finding) -> str:
    assert found.written is not None
    assert found.expected is not None
    low, high = found.expected
    numbers = ", ".join(map(str, found.passes))
    return say(
        "{row}: about {turns:g} turns, where its length would need {low:.0f} to {high:.0f}; the "
        "pass is left out. Was the counter set back, and the whole pass recorded?",
        row=(
            say("line {line}: pass {number}", line=found.line, number=numbers)
            if found.line
            else say("pass {number}", number=numbers)
        ),
        turns=found.written,
        low=low,
        high=high,
    )
