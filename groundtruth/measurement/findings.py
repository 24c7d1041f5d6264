"""What is odd about the counts of a run and about the slip that they give."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ..core.findings import Finding, FindingKind
from ..core.result import LEAST_SLIP
from ..passes import Pass
from ..passes.matching import CountedPass, SheetClock
from ..passes.strips import overlaps

MUCH_SLIP = 0.15
"""Above this, sure to 95 %, slip is rare enough to check the machine first (common practice, no
source)."""


def slip_findings(slip_95: tuple[float, float] | None) -> tuple[Finding, ...]:
    """Whether slip, by its 95 % interval, is more or less than a wheel has."""
    if slip_95 is None:
        return ()
    low, high = slip_95
    if high < LEAST_SLIP:
        return (Finding(kind=FindingKind.TURNED_MORE),)
    return (Finding(kind=FindingKind.MUCH_SLIP),) if low > MUCH_SLIP else ()


def uncounted(passes: Iterable[Pass], counted: Sequence[CountedPass]) -> tuple[Finding, ...]:
    """The passes of the track that the turn sheet has no count for, by their order in time."""
    taken = {c.found.number for c in counted}
    spans = [(c.found.start.time_s, c.found.end.time_s) for c in counted]
    left = tuple(
        p.number
        for p in passes
        if p.number not in taken
        and not any(overlaps((p.start.time_s, p.end.time_s), span) for span in spans)
    )
    return (Finding(kind=FindingKind.UNCOUNTED, passes=left),) if left else ()


FAR_OFF_S = 60.0
"""A clock that is farther off is asked about: nobody sets a watch so badly by mistake."""


def clock_finding(clock: SheetClock | None) -> tuple[Finding, ...]:
    """By how much the sheet's clock is off, where it is."""
    if clock is None:
        return ()
    far = abs(clock.offset_s.value) > FAR_OFF_S
    return (
        Finding(
            kind=FindingKind.CLOCK_FAR_OFF if far else FindingKind.CLOCK_OFF,
            offset=clock.offset_s,
            drift_s_per_h=clock.drift_s_per_h,
        ),
    )
