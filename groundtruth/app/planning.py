"""Say before going out how many passes a figure takes, which way, and what else would do."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.errors import InputError
from ..io import read_track
from ..io.files import FileInput
from ..planning import Design, Plan, make_plan, noise_from_track, noise_of_kind

LEAST_WISH, MOST_WISH = 0.0005, 0.3


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanRequest:
    """What is to be planned.

    ``wish`` is the half-width of the 95 % interval relative to the figure. The phone is a kind
    (`groundtruth.planning.KINDS`), or told from a track of five minutes. ``passes`` are forecast
    besides.

    Raises
    ------
    InputError : the wish is out of range.
    """

    design: Design
    wish: float = 0.01
    phone: str = "ordinary"
    track: tuple[FileInput, ...] = ()
    time_zone: str | None = None
    passes: int | None = None

    def __post_init__(self) -> None:
        if not LEAST_WISH <= self.wish <= MOST_WISH:
            raise InputError(
                f"the wish is {100 * self.wish:g} %; it must lie between {100 * LEAST_WISH:g} and "
                f"{100 * MOST_WISH:g} %"
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
    return make_plan(request.design, noise, margin=request.wish, passes=request.passes)
