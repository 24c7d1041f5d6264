"""Which passes are in doubt, to be marked on the map and in the tables."""

from __future__ import annotations

from ..core.findings import FindingKind
from ..core.result import Judgement, Result

_ABOUT_A_PASS = frozenset(
    {
        FindingKind.DROVE_ON,
        FindingKind.END_UNSEEN,
        FindingKind.TOO_UNSURE,
        FindingKind.JUMPED,
        FindingKind.TAPED_OFF,
        FindingKind.PASS_OFF,
    }
)
"""Findings whose numbers are those of passes in the track; others number the rows of the sheet."""


def passes_in_doubt(result: Result) -> frozenset[int]:
    """Numbers of the passes of which a finding tells, or one of whose counts is doubtful."""
    told = {n for f in result.findings if f.kind in _ABOUT_A_PASS for n in f.passes}
    counted = {c.number for c in result.cells if c.verdict is not Judgement.AGREES}
    return frozenset(told | counted)
