"""What matching hands over: passes with their marks and counts."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import tzinfo

import numpy as np
from numpy.typing import NDArray

from ...core.display import time_of_day
from ...core.errors import TurnSheetError
from ...core.findings import Finding
from ...core.measured import Measured
from ...core.track import Track
from .. import EndFound, Pass, PassEnd
from .sheet_clock import SheetClock

Array = NDArray[np.float64]

STANDING_SLACK_S = 3.0
"""An instant this close to the moving off or coming to stand was read in standing."""
SHOWN_PASSES = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class CountedEnd:
    """One end of the ground that a count covers.

    ``place_std_m`` is the doubt about the place of the end of a pass, ``instant_std_s`` that about
    an instant on the way. One of them is 0.
    """

    time_s: float
    found: EndFound
    place_std_m: float = 0.0
    instant_std_s: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitCount:
    """Turns as counted (not yet gear turns) on one unit between the marks of a pass."""

    unit: str
    turns: Measured
    setting: str = ""
    crop: str = ""
    bed: str = ""
    line: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CountedPass:
    """A found pass with the marks and counts that belong to it. ``number`` is the sheet's.

    ``wheel`` holds the instants and cumulative turns where every turn was timed. ``doubt`` says
    why sheet and track contradict each other on this pass, None where they do not. Counts that were
    ``read_elsewhere`` have times under way of their own and cannot be used.
    """

    number: int
    found: Pass
    start: CountedEnd
    end: CountedEnd
    counts: tuple[UnitCount, ...]
    taped: Measured | None = None
    wheel: tuple[Array, Array] | None = None
    doubt: Finding | None = None
    read_elsewhere: tuple[UnitCount, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Matching:
    """The counted passes in order of time, what was found and left out, and the sheet's clock
    where it is off."""

    passes: tuple[CountedPass, ...]
    findings: tuple[Finding, ...] = ()
    clock: SheetClock | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MatchingContext:
    """What matching needs to know of the day for its messages and tolerances.

    ``interval_s`` is the usual time between fixes.
    """

    track: Track
    interval_s: float
    zone: tzinfo
    sheet_name: str

    def clock(self, time_s: float) -> str:
        """Time of day as the sheet writes it, 08:41:07."""
        return time_of_day(time_s, self.zone)

    def error(self, reason: str, line: int | None = None, column: str = "") -> TurnSheetError:
        """The refusal of the sheet, or of one of its lines."""
        return TurnSheetError(reason, file=self.sheet_name, line=line, column=column)


def end_as_found(end: PassEnd, *, confirmed: bool = False) -> CountedEnd:
    """The end of a pass as found in the track, with the doubt whether it is the right place.

    Where the tractor stood, any instant of the standing means the same place, and the doubt is
    only whether it stood there; on the move the place of the end itself is in doubt. ``confirmed``
    says that the counter was read in that standing, which settles it.
    """
    place_std_m = end.stood_std_m if confirmed else end.std_m
    return CountedEnd(time_s=end.time_s, found=end.found, place_std_m=place_std_m)


def listed(passes: Sequence[Pass], context: MatchingContext) -> str:
    """Passes as a message names them: number, times, length."""
    if not passes:
        return "none"
    return shortened(
        f"{p.number}: {context.clock(p.start.time_s)}–{context.clock(p.end.time_s)}, "
        f"{p.length_m:.0f} m"
        for p in passes
    )


def shortened(items: Iterable[str]) -> str:
    """Items in one line, the middle left out where there are many."""
    texts = list(items)
    if len(texts) > SHOWN_PASSES:
        texts = [*texts[: SHOWN_PASSES - 1], f"… {len(texts) - SHOWN_PASSES} more …", texts[-1]]
    return "; ".join(texts)
