"""What was counted: turns of the gear or wheel, on which unit, between which instants."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from .bounds import refuse_outside
from .errors import TurnSheetError
from .measured import Measured, triangular_std
from .notices import Notice
from .track import InputFile

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnCount:
    """One count on one unit over one pass, as written in the sheet.

    ``start_s`` and ``end_s`` are seconds since 1970-01-01 UTC, both None where the sheet follows
    the order of the passes. ``resolution`` is the smallest step that the count was read to
    (1 for whole turns, 0.1 for "41.3"); ``instant_resolution_s`` the smallest step in which the
    instants are written (60 for "08:41", 1 for "08:41:07"). ``taped`` is the taped length of the
    pass, m. ``line`` is the line in the sheet. ``of_track`` says that ``pass_number`` counts the
    passes found in the track; ``strip`` that it counts the strips of the track between ``start_s``
    and ``end_s`` that are passes since the sheet says so.

    Raises
    ------
    TurnSheetError : turns or the resolution are not above 0, a figure is out of its bounds, or the
        end is not after the start.
    """

    pass_number: int
    unit: str
    turns: float
    start_s: float | None = None
    end_s: float | None = None
    resolution: float = 1.0
    instant_resolution_s: float = 1.0
    setting: str = ""
    crop: str = ""
    bed: str = ""
    taped: Measured | None = None
    line: int = 0
    of_track: bool = False
    strip: bool = False

    def __post_init__(self) -> None:
        line = self.line or None
        name = f"{'strip' if self.strip else 'pass'} {self.pass_number}"
        if not 0 < self.turns < float("inf"):
            raise TurnSheetError(
                f"{name}, unit {self.unit}: {self.turns:g} turns; a pass needs more than 0",
                line=line,
                column="turns",
            )
        try:
            refuse_outside("turns", self.turns, "turns", error=TurnSheetError)
            if self.taped is not None:
                refuse_outside("taped", self.taped.value, "bed_length", error=TurnSheetError)
        except TurnSheetError as why:
            raise TurnSheetError(
                f"{name}, unit {self.unit}: {why.reason}", line=line, column=why.column
            ) from None
        if not self.resolution > 0:
            raise TurnSheetError("a count's resolution must be above 0", line=line, column="turns")
        if (self.start_s is None) != (self.end_s is None):
            raise TurnSheetError(
                f"{name}: give both start and end, or neither",
                line=line,
                column="start" if self.start_s is None else "end",
            )
        if self.start_s is not None and self.end_s is not None and not self._in_order():
            raise TurnSheetError(f"{name}: the end is not after the start", line=line, column="end")

    def _in_order(self) -> bool:
        """Whether the end can lie after the start, written to the step that they are."""
        if self.start_s is None or self.end_s is None:
            return True
        same_minute = self.instant_resolution_s >= 60 and self.end_s == self.start_s
        return self.end_s > self.start_s or same_minute

    @property
    def counted(self) -> Measured:
        """The turns with the error of reading a counter twice without seeing its phase.

        Two readings, each cut to the resolution r, differ from the true number by a triangle over
        ± r, so u = r/√6 [JCGM 100:2008, 4.3.9; sum of two even spreads].
        """
        return Measured(self.turns, triangular_std(self.resolution))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TurnReadings:
    """A running counter on one unit, read now and then, or written down at every turn.

    ``time_s`` (n,) strictly increases, ``turns`` (n,) never falls. ``at_each_turn`` says that
    every reading was taken at the instant at which the count stepped, so that reading carries no
    counting error. ``instant_resolution_s`` is the smallest step in which the times are written.
    """

    unit: str
    time_s: Array
    turns: Array
    resolution: float = 1.0
    at_each_turn: bool = False
    instant_resolution_s: float = 1.0

    def __post_init__(self) -> None:
        for name in ("time_s", "turns"):
            own = np.array(getattr(self, name), dtype=np.float64)
            own.setflags(write=False)
            object.__setattr__(self, name, own)
        if self.time_s.shape != self.turns.shape or self.time_s.ndim != 1 or len(self.time_s) < 2:
            raise TurnSheetError(f"unit {self.unit}: a running counter needs two readings or more")
        if not (np.diff(self.time_s) > 0).all():
            raise TurnSheetError(f"unit {self.unit}: the times of the readings must increase")
        if not (np.diff(self.turns) >= 0).all():
            raise TurnSheetError(f"unit {self.unit}: a running counter cannot run backwards")
        for reading in (float(self.turns[0]), float(self.turns[-1])):
            refuse_outside(f"unit {self.unit}: turns", reading, "counter", error=TurnSheetError)


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnSheet:
    """A whole sheet: either counts per pass or running counters, never both."""

    name: str
    counts: tuple[TurnCount, ...] = ()
    readings: tuple[TurnReadings, ...] = ()
    inputs: tuple[InputFile, ...] = ()
    notices: tuple[Notice, ...] = field(default=())

    def __post_init__(self) -> None:
        if bool(self.counts) == bool(self.readings):
            raise TurnSheetError("holds no turn counts", file=self.name)

    @property
    def units(self) -> tuple[str, ...]:
        """The row units counted, in order of first appearance."""
        rows = [c.unit for c in self.counts] + [r.unit for r in self.readings]
        return tuple(dict.fromkeys(rows))
