"""What was found about a run, in sentences."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from ...core.display import distance_scale, time_of_day
from ...core.findings import Finding, FindingKind, ReceiverEvidence
from ...core.language import English, many, say
from ...core.result import Result
from .turn_sheet import sheet_sentence

_EVIDENCE = {
    ReceiverEvidence.RUN_FILE: English("the run description says so"),
    ReceiverEvidence.FIX_QUALITY: English("its fixes lie straight and are marked as corrected"),
    ReceiverEvidence.ACCURACY: English(
        "its fixes lie straight and report centimetres as their accuracy"
    ),
    ReceiverEvidence.RATE: English(
        "its fixes lie straight and come several a second, as no phone gives them; write receiver "
        '= "phone" into the run description if it was one'
    ),
}


def finding_sentence(found: Finding, result: Result) -> str:
    """One finding, in the units and by the clock of its run."""
    numbers = ", ".join(map(str, found.passes))
    match found.kind:
        case FindingKind.TURNED_MORE:
            return say(
                "The gear turned more often than a rolling wheel can drive it: check the wheel's "
                "circumference, the gear ratio and what was counted."
            )
        case FindingKind.MUCH_SLIP:
            return say(
                "So much slip is rare: check the wheel's circumference and the gear ratio first, "
                "then look for a wheel that drags or runs clear of the ground."
            )
        case FindingKind.DROVE_ON | FindingKind.END_UNSEEN:
            return _end_in_doubt(found, result)
        case FindingKind.TOO_UNSURE:
            return say(
                "pass {number}: the track holds too little of it to tell how far it went; left out "
                "of the figure",
                number=numbers,
            )
        case FindingKind.JUMPED:
            assert found.fixes is not None  # held by Finding
            return many(
                found.fixes,
                "pass {number}: fixes that jumped aside together for some seconds were left out of "
                "the distance, as when signals come off walls or trees",
                "pass {number}: fixes that jumped aside together for some seconds were left out of "
                "the distance, as when signals come off walls or trees ({count} times)",
                number=numbers,
            )
        case FindingKind.NO_HEIGHTS:
            return say(
                "the track carries no heights, so slope and height above the ellipsoid are left "
                "out: a slope of 5 % lengthens the ground by {slope:.2f} %, a height of {height} "
                "by {share:.3f} %",
                slope=0.12,
                height="3000 ft" if result.units == "us" else "1000 m",
                share=0.014 if result.units == "us" else 0.016,
            )
        case FindingKind.CENTIMETRE_RECEIVER:
            assert found.evidence is not None  # held by Finding
            return say(
                "the track is taken as good to centimetres, since {why}",
                why=_EVIDENCE[found.evidence],
            )
        case FindingKind.UNCOUNTED:
            return many(
                len(found.passes),
                "{count} pass of the track without a turn count: {numbers} in order of time",
                "{count} passes of the track without a turn count: {numbers} in order of time",
                numbers=numbers,
            )
        case _:
            return sheet_sentence(found, result)


def _end_in_doubt(found: Finding, result: Result) -> str:
    """Why a pass is left out: its end was not seen, or the sheet puts it elsewhere."""
    assert found.from_s is not None  # these held by Finding
    assert found.until_s is not None
    zone = ZoneInfo(result.time_zone)
    first, last = (time_of_day(t, zone) for t in (found.from_s, found.until_s))
    number = ", ".join(map(str, found.passes))
    start = found.end == "start"
    if found.kind is FindingKind.END_UNSEEN:
        where = {"number": number, "first": first, "last": last}
        if start:
            return say(
                "pass {number}: the track has no fix from {first} to {last}, where its start was; "
                "the pass is left out",
                **where,
            )
        return say(
            "pass {number}: the track has no fix from {first} to {last}, where its end was; the "
            "pass is left out",
            **where,
        )
    assert found.along_m is not None
    scale = distance_scale(result.units)
    # the sheet's instant lies outside the end found: before a start, after an end
    figures = {
        "number": number,
        "seconds": found.until_s - found.from_s,
        "length": f"{scale.number(found.along_m, 0)} {scale.unit}",
    }
    if start:
        return say(
            "pass {number}: the sheet's start, {in_sheet}, lies {seconds:.0f} s and {length} in "
            "line from the start found in the track, {in_track}; the pass is left out, check its "
            "times",
            **figures,
            in_sheet=first,
            in_track=last,
        )
    return say(
        "pass {number}: the sheet's end, {in_sheet}, lies {seconds:.0f} s and {length} in line "
        "from the end found in the track, {in_track}; the pass is left out, check its times",
        **figures,
        in_sheet=last,
        in_track=first,
    )
