"""Whether a phone or a centimetre receiver recorded the day, and what tells it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..core.findings import ReceiverEvidence
from ..core.run import ReceiverKind
from .pass_coordinates import Stretch

SURVEY_GRADE_M = 0.12
"""Cross-track residuals of a receiver with carrier-phase corrections stay below this rms. Those of
a phone may too, while it drifts by a metre: straightness alone proves nothing."""
SURVEY_INTERVAL_S = 0.25
"""Such receivers give several fixes a second, phones one (common practice, no source)."""
SURVEY_ACCURACY_M = 0.1
"""What such receivers report as their accuracy; phones report metres (common practice, no
source)."""
CORRECTED_SHARE = 0.9
"""The quality indicator of more fixes than this share says "with carrier-phase corrections"."""
LEAST_JUDGED = 8
"""Degrees of freedom below which a small rms is chance."""
SHORTEST_JUDGED_S = 30.0
"""On shorter passes a phone's slow error bends no more than a quadratic: they tell nothing, s."""


def receiver_evidence(
    stretches: Sequence[Stretch], receiver: ReceiverKind | None
) -> ReceiverEvidence | None:
    """What tells that a centimetre receiver recorded the passes; None where a phone did.

    As told by ``receiver``; else two witnesses must agree. The one is how straight the fixes lie
    across the passes; the other the fixes' quality as reported, their reported accuracy, or how
    often they come.
    """
    if receiver is not None:
        return ReceiverEvidence.RUN_FILE if receiver == "centimetre" else None
    evidence = _reported_evidence(stretches)
    return evidence if evidence is not None and _is_straight(stretches) else None


def _reported_evidence(stretches: Sequence[Stretch]) -> ReceiverEvidence | None:
    """What of the fixes phones never have."""
    if float(np.median([s.corrected_share for s in stretches])) > CORRECTED_SHARE:
        return ReceiverEvidence.FIX_QUALITY
    if float(np.median([s.accuracy_m for s in stretches])) <= SURVEY_ACCURACY_M:
        return ReceiverEvidence.ACCURACY
    if float(np.median([s.interval_s for s in stretches])) <= SURVEY_INTERVAL_S:
        return ReceiverEvidence.RATE
    return None


def _is_straight(stretches: Sequence[Stretch]) -> bool:
    """Whether the fixes lie across the passes as close to a parabola as survey grade does."""
    squares, count = 0.0, 0
    for s in stretches:
        clock = s.under_way_s(s.time_s)[s.used]
        if np.ptp(clock) < SHORTEST_JUDGED_S:
            continue
        across = s.across_m[s.used]
        share = clock / max(float(np.ptp(clock)), 1.0)
        design = np.stack([np.ones_like(share), share, share**2], axis=1)
        fit, _, rank, _ = np.linalg.lstsq(design, across, rcond=None)
        rest = across - design @ fit
        squares += float(rest @ rest)
        count += max(len(rest) - int(rank), 0)
    return count >= LEAST_JUDGED and bool(np.sqrt(squares / count) < SURVEY_GRADE_M)
