"""What was found out about the turn sheet, in sentences: its clock, its rows and its cells."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from ...core.display import distance_scale, time_of_day
from ...core.findings import Finding, FindingKind
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
        shown.append(f"{len(told) - _MOST_CELLS} more counts are doubtful or left out")
    return tuple(shown)


def _by_pass(cell: CellVerdict, result: Result) -> bool:
    """Whether the count is left out with its whole pass, of which a finding tells."""
    off = {n for f in result.findings if f.kind is FindingKind.PASS_OFF for n in f.passes}
    return cell.reason is CellReason.GROUND and cell.number in off


def _where(cell: CellVerdict) -> str:
    line = f"line {cell.line}, " if cell.line else ""
    return f"{line}turns: pass {cell.number}, unit {visible(cell.unit, _UNIT_LIMIT)}"


def _cell(cell: CellVerdict) -> str:
    left = cell.verdict is Judgement.LEFT_OUT
    what = "left out of the figure" if left else "counts for less in the figure"
    if cell.reason is CellReason.TIMES:
        return (
            f"{_where(cell)}: its times differ from those of the pass's other units while the "
            f"tractor was under way; {what}. Read all units between the same two places."
        )
    assert cell.expected is not None
    low, high = (f"{end:g}" for end in cell.expected)
    said = low if low == high else f"{low} to {high}"
    who = "the track says" if cell.reason is CellReason.GROUND else "its neighbours say"
    ask = f" Is it {cell.suggestion:g}?" if cell.suggestion is not None else ""
    if cell.reason is CellReason.EXCHANGED:
        ask = " Do the counts of two units stand in each other's place?"
    return f"{_where(cell)}: {cell.turns:g} turns; {who} {said}.{ask} It is {what}."


def sheet_sentence(found: Finding, result: Result) -> str:
    """What is to be said of the sheet's clock or of one of its rows."""
    numbers = ", ".join(map(str, found.passes))
    row = f"line {found.line}: pass {numbers}" if found.line else f"pass {numbers}"
    span = _span(found, result)
    match found.kind:
        case FindingKind.CLOCK_OFF | FindingKind.CLOCK_FAR_OFF:
            return _clock(found)
        case FindingKind.NOT_RECORDED:
            return f"{row}{span} was not recorded, or not to its end; it is left out"
        case FindingKind.NO_PASS:
            when = " at that time" if span else " for it"
            return f"{row}{span}: no pass of the track was found{when}; it is left out"
        case FindingKind.SAME_PASS:
            return f"{row}{span}: another row has the same times; it is left out, check both"
        case FindingKind.ROW_DOUBLED:
            return f"{row}{span} says the same as another row; it is left out"
        case FindingKind.SEVERAL_PASSES:
            return f"{row}{span} covers several passes of the track; it is left out"
        case FindingKind.TIMES_DIFFER:
            return f"{row}{span} covers no time under way; it is left out, check the two times"
        case FindingKind.GUESSED:
            return (
                "the sheet has no times, and not as many rows as the track has passes; they were "
                "brought together in order, by lengths and counts: check which belongs to which"
            )
        case FindingKind.RUNNING_COUNTER:
            return (
                "the turns rise from pass to pass as on a counter that is not set back; each was "
                "taken less the one before. If they are counts of each pass, something else is "
                "wrong with them"
            )
        case FindingKind.TAPED_OFF:
            return f"pass {numbers}: {_taped(found, result)}"
        case _:
            return f"{row}: {_pass_off(found)}"


def _span(found: Finding, result: Result) -> str:
    if found.from_s is None or found.until_s is None:
        return ""
    zone = ZoneInfo(result.time_zone)
    return f", {time_of_day(found.from_s, zone)} to {time_of_day(found.until_s, zone)}"


def _clock(found: Finding) -> str:
    assert found.offset is not None
    off, drift = found.offset, found.drift_s_per_h or 0.0
    side = "ahead of" if off.value > 0 else "behind"
    size = f"{_duration(abs(off.value))} ± {max(K95 * off.std, 1):.0f} s".replace(" s ±", " ±")
    text = f"the sheet's clock is {size} {side} the phone's"
    if drift:
        text += f" and {'gains' if drift > 0 else 'loses'} {abs(drift):.0f} s an hour"
    ask = ". Is that so?" if found.kind is FindingKind.CLOCK_FAR_OFF else ""
    return f"{text}; its times were corrected{ask}"


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
    return (
        f"taped {scale.number(found.written, 1)} {scale.unit}, where the phone says "
        f"{low} to {high} {scale.unit}; the tape is left out, check it"
    )


def _pass_off(found: Finding) -> str:
    assert found.written is not None
    assert found.expected is not None
    low, high = found.expected
    return (
        f"about {found.written:g} turns, where its length would need {low:.0f} to {high:.0f}; the "
        f"pass is left out. Was the counter set back, and the whole pass recorded?"
    )
