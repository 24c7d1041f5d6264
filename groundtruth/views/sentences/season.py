"""What is odd about a season's sowings, in plain sentences."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from ...beds import Anomaly, AnomalyKind
from ...beds.anomalies import SURE


def anomaly_sentence(anomaly: Anomaly, day_text: Callable[[str], str] = str) -> str:
    """An anomaly as a sentence without its full stop; ``day_text`` says how days are written."""
    day, perhaps = day_text(anomaly.day), "perhaps " if anomaly.sure < SURE else ""
    if anomaly.kind is AnomalyKind.SOWN_TWICE:
        return f"Bed {anomaly.bed} was {perhaps}sown twice {_both_passes(anomaly, day_text)}"
    if anomaly.kind is AnomalyKind.SHORT:
        share = (
            "" if anomaly.share is None else f": {100 * anomaly.share:.0f} % of its usual length"
        )
        return f"Bed {anomaly.bed} was sown short on {day}{share}"
    if anomaly.kind is AnomalyKind.SKIPPED:
        return f"Bed {anomaly.bed} was {perhaps}left out on {day}, its neighbours were sown"
    return (
        f"Block {anomaly.block}, {day}: which bed was sown is not sure for "
        f"{_passes(anomaly.passes)}; write the beds into that day's turn sheet and add the run "
        "again with --replace"
    )


def _both_passes(anomaly: Anomaly, day_text: Callable[[str], str]) -> str:
    """On which days and passes a bed was sown twice."""
    (number,), first = anomaly.passes, anomaly.earlier
    if first is None:
        return f"by {day_text(anomaly.day)}, pass {number}"
    if first.run == anomaly.run:
        return f"on {day_text(anomaly.day)}, passes {first.number} and {number}"
    return (
        f"on {day_text(first.day)}, pass {first.number}, and {day_text(anomaly.day)}, pass {number}"
    )


def _passes(numbers: Sequence[int]) -> str:
    """Numbers in words: "pass 3", "passes 1 to 4, 7"."""
    spans: list[list[int]] = []
    for number in sorted(numbers):
        if spans and number == spans[-1][1] + 1:
            spans[-1][1] = number
        else:
            spans.append([number, number])
    shown = ", ".join(f"{a}" if a == b else f"{a} to {b}" for a, b in spans)
    return f"{'pass' if len(numbers) == 1 else 'passes'} {shown}"
