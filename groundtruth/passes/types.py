"""What a pass is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

EndFound = Literal["stopped", "rolling", "track ends", "turn sheet"]
"""How an end of a pass was found: the tractor stood there; it rolled on into the headland, so the
line's bend marks the end; the recording begins or ends there; the turn sheet gives the instant."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stand:
    """Where the tractor stood at an end, if it did there: from ``span_s[0]`` to ``span_s[1]``.

    ``time_s`` is the instant of the end and ``std_m`` the doubt about its place then; ``log_odds``
    are those by the track alone that it stood.
    """

    span_s: tuple[float, float]
    time_s: float
    std_m: float
    log_odds: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PassEnd:
    """One end of a pass: the instant (s since 1970 UTC), how it was found, and how well.

    ``std_m`` is the standard uncertainty of the place along the pass; ``stood_std_m`` what is left
    of it where the tractor stood for sure, 0 where it was found on the move. For an end found on
    the move ``stand`` says where it lies if the tractor stood there after all.
    """

    time_s: float
    found: EndFound
    std_m: float
    stood_std_m: float = 0.0
    stand: Stand | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Pass:
    """One run of the seeder along a bed.

    ``first`` and ``last`` are indices of fixes in the track (inclusive) that cover the pass with
    the standing at its ends; ``axis_deg`` is the direction of travel, clockwise from north;
    ``stops`` are (from, to) instants of standing within and at the ends of the pass.
    """

    number: int
    first: int
    last: int
    start: PassEnd
    end: PassEnd
    axis_deg: float
    length_m: float
    stops: tuple[tuple[float, float], ...] = ()

    @property
    def under_way_s(self) -> float:
        """Time between the ends less the standing on the way. [s]"""
        stood = sum(
            max(0.0, min(until, self.end.time_s) - max(begin, self.start.time_s))
            for begin, until in self.stops
        )
        return self.end.time_s - self.start.time_s - stood

    @property
    def speed_m_s(self) -> float:
        """Mean speed while under way. [m/s]"""
        return self.length_m / max(self.under_way_s, 1e-9)
