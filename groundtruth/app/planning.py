"""Say before going out how many passes a figure takes, which way, and what else would do."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.errors import InputError
from ..io import read_track
from ..io.files import FileInput
from ..planning import Design, Plan, make_plan, noise_from_track, noise_of_kind

LEAST_WITHIN, MOST_WITHIN = 0.0005, 0.3


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanRequest:
    """What is to be planned.

    ``within`` is the wanted half-width of the 95 % interval relative to the figure. The phone is
    a kind (`groundtruth.planning.KINDS`), or told from a track of five minutes. ``passes`` are
    forecast besides.

    Raises
    ------
    InputError : ``within`` is out of range.
    """

    design: Design
    within: float = 0.01
    phone: str = "ordinary"
    track: tuple[FileInput, ...] = ()
    time_zone: str | None = None
    passes: int | None = None

    def __post_init__(self) -> None:
        if not LEAST_WITHIN <= self.within <= MOST_WITHIN:
            raise InputError(
                f"the figure is wanted within {100 * self.within:g} %; it must lie between "
                f"{100 * LEAST_WITHIN:g} and {100 * MOST_WITHIN:g} %"
            )


def plan_for(request: PlanRequest) -> Plan:
    """The ways to drive and count, each with the passes that it takes.

    Raises
    ------
    InputError : the track cannot be used, or the number of passes is out of range.
    MeasureError : the track is too short to tell the phone from.
    """
    if request.track:
        noise = noise_from_track(read_track(request.track, time_zone=request.time_zone))
    else:
        noise = noise_of_kind(request.phone)
    return make_plan(request.design, noise, margin=request.within, passes=request.passes)
