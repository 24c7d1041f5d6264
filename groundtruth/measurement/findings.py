"""What is odd about the counts of a run and about the slip that they give."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ..core.findings import Finding, FindingKind
from ..passes import Pass
from ..passes.matching import CountedPass

LEAST_SLIP = -0.01
"""Below this, sure to 95 %, the gear turned more often than a rolling wheel can drive it: the
description of the machine or the count is wrong."""
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
    left = tuple(p.number for p in passes if p.number not in taken)
    return (Finding(kind=FindingKind.UNCOUNTED, passes=left),) if left else ()
