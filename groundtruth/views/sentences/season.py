"""What is odd about a season's sowings, in plain sentences."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from ...beds import Anomaly, AnomalyKind
from ...beds.anomalies import SURE
from ...core.display import span
from ...core.language import many, say


def anomaly_sentence(anomaly: Anomaly, day_text: Callable[[str], str] = str) -> str:
    """An anomaly as a sentence without its full stop; ``day_text`` says how days are written."""
    bed, day, sure = anomaly.bed, day_text(anomaly.day), anomaly.sure >= SURE
    if anomaly.kind is AnomalyKind.SOWN_TWICE:
        when = _both_passes(anomaly, day_text)
        if sure:
            return say("Bed {bed} was sown twice {when}", bed=bed, when=when)
        return say("Bed {bed} was perhaps sown twice {when}", bed=bed, when=when)
    if anomaly.kind is AnomalyKind.SHORT and anomaly.share is not None:
        return say(
            "Bed {bed} was sown short on {day}: {share:.0f} % of its usual length",
            bed=bed,
            day=day,
            share=100 * anomaly.share,
        )
    if anomaly.kind is AnomalyKind.SHORT:
        return say("Bed {bed} was sown short on {day}", bed=bed, day=day)
    if anomaly.kind is AnomalyKind.SKIPPED and sure:
        return say("Bed {bed} was left out on {day}, its neighbours were sown", bed=bed, day=day)
    if anomaly.kind is AnomalyKind.SKIPPED:
        return say(
            "Bed {bed} was perhaps left out on {day}, its neighbours were sown", bed=bed, day=day
        )
    return say(
        "Block {block}, {day}: which bed was sown is not sure for {passes}; write the beds into "
        "that day's turn sheet and add the run again with --replace",
        block=anomaly.block,
        day=day,
        passes=_passes(anomaly.passes),
    )


def _both_passes(anomaly: Anomaly, day_text: Callable[[str], str]) -> str:
    """On which days and passes a bed was sown twice."""
    (number,), first = anomaly.passes, anomaly.earlier
    day = day_text(anomaly.day)
    if first is None:
        return say("by {day}, pass {number}", day=day, number=number)
    if first.run == anomaly.run:
        return say(
            "on {day}, passes {first} and {number}", day=day, first=first.number, number=number
        )
    return say(
        "on {first_day}, pass {first}, and {day}, pass {number}",
        first_day=day_text(first.day),
        first=first.number,
        day=day,
        number=number,
    )


def _passes(numbers: Sequence[int]) -> str:
    """Numbers in words: "pass 3", "passes 1 to 4, 7"."""
    spans: list[list[int]] = []
    for number in sorted(numbers):
        if spans and number == spans[-1][1] + 1:
            spans[-1][1] = number
        else:
            spans.append([number, number])
    shown = ", ".join(f"{a}" if a == b else span(str(a), str(b)) for a, b in spans)
    return many(len(numbers), "pass {numbers}", "passes {numbers}", numbers=shown)
