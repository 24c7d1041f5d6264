"""How the passes of a measurement are driven and counted, and how long that takes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ..core.errors import InputError

Counting = Literal["whole", "tenth", "each"]
"""Whole turns read at both ends, read to a tenth, or the instant of each turn recorded."""
Ends = Literal["stand", "instants", "rolling"]
"""Standing at both ends; lifted on the move with the time written down; lifted on the move."""

SPREAD = 0.0065
"""Typical relative spread of ground per turn between passes of one morning (judgement)."""
RAMP_S = 2.7
"""Speeding up and slowing down together lose about this much of the clock, s."""
SHORTEST_M = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """How the passes are driven and counted.

    ``between_s`` is the time from the end of a counted pass to the beginning of the next one,
    turning included; ``one_way`` says that all counted passes run in one direction.
    """

    bed_length_m: float
    speed_m_s: float
    counting: Counting
    ground_per_turn_m: float
    ends: Ends = "stand"
    stand_s: float = 10.0
    turn_s: float = 40.0
    one_way: bool = False
    spread: float = SPREAD

    def __post_init__(self) -> None:
        if not SHORTEST_M <= self.bed_length_m <= 5000:
            raise InputError(
                f"a bed of {self.bed_length_m:g} m; plans are made for {SHORTEST_M:g} m to 5000 m"
            )
        if not 0.1 <= self.speed_m_s <= 5:
            raise InputError(
                f"a sowing speed of {self.speed_m_s:g} m/s; plans are made for 0.1 to 5 m/s"
            )
        if not 0.02 <= self.ground_per_turn_m < self.bed_length_m / 2:
            raise InputError(
                f"ground per turn of {self.ground_per_turn_m:g} m; a pass must hold two turns, "
                "and a turn cover 2 cm or more"
            )
        if not 0 <= self.turn_s <= 3600:
            raise InputError(
                f"a headland turn of {self.turn_s:g} s; it must lie between 0 and 3600 s"
            )
        if not 0 <= self.spread <= 0.2:
            raise InputError(
                f"a spread between passes of {100 * self.spread:g} %; it must lie within 0 to 20 %"
            )

    @property
    def pass_s(self) -> float:
        """Seconds from moving off to coming to stand, a little over length by speed."""
        return self.bed_length_m / self.speed_m_s + RAMP_S

    @property
    def between_s(self) -> float:
        """Seconds from the end of one counted pass to the beginning of the next."""
        turn = self.turn_s + 2 * (self.stand_s if self.ends == "stand" else 0.0)
        return 2 * turn + self.pass_s if self.one_way else turn

    def duration_s(self, passes: int) -> float:
        """Time in the field from the first counted pass to the last. [s]"""
        return passes * self.pass_s + (passes - 1) * self.between_s
