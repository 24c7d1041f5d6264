"""The ground per gear turn that a target rests on: the figure, where it comes from, its age."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from ..core.crops import Crop, Target
from ..core.display import day_text
from ..core.errors import InputError
from ..core.measured import Measured
from ..core.result import Result


@dataclass(frozen=True, slots=True, kw_only=True)
class GroundFigure:
    """Ground per gear turn (m), when and in which run it was measured, the figure in use.

    ``settings`` is the seeder's order, empty where not known.
    ``measured_on`` is None and ``run_name`` empty where a figure was typed in.
    """

    ground_per_turn: Measured
    ground_per_turn_95: tuple[float, float]
    measured_on: date | None = None
    run_name: str = ""
    in_use_m: float | None = None
    crops: tuple[Crop, ...] = ()
    settings: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not self.ground_per_turn.value > 0:
            raise InputError(
                f"ground per turn is {self.ground_per_turn.value:g} m; it must be above 0"
            )

    def target(self, crop: Crop) -> Target:
        """Seeds per gear turn for a crop by this figure."""
        return crop.target(self.ground_per_turn, self.ground_per_turn_95, self.in_use_m or None)


class StaleFigureError(InputError):
    """The ground per turn is older than a change of the wheel it was measured with."""


def figure_of(result: Result) -> GroundFigure:
    """The pooled figure of a measured run.

    Raises
    ------
    InputError : the result's date is no day.
    """
    try:
        day = date.fromisoformat(result.date)
    except ValueError:
        raise InputError(f"the result's date {result.date!r} is no day") from None
    return GroundFigure(
        ground_per_turn=result.ground_per_turn,
        ground_per_turn_95=result.ground_per_turn_95,
        measured_on=day,
        run_name=result.run_name,
        in_use_m=result.seeder.ground_per_gear_turn_in_use_m,
        crops=tuple(t.crop for t in result.targets),
        settings=result.seeder.settings,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class WheelChange:
    """A change that moves the ground per turn. ``what`` is "tyre", "drive wheel", …"""

    day: date
    what: str = "drive wheel or tyre"


def staleness(figure: GroundFigure, change: WheelChange | None) -> str:
    """Why the figure must not be trusted, "" where nothing speaks against it.

    A figure measured on the day of the change is taken as measured after it, as the season's
    record takes it: a tyre is changed before the work.
    """
    if change is None:
        return ""
    changed = f"the {change.what} was changed on {day_text(change.day.isoformat())}"
    if figure.measured_on is None:
        return (
            f"{changed}; it is not known whether the ground per turn was measured before or after"
        )
    if figure.measured_on < change.day:
        day = day_text(figure.measured_on.isoformat())
        return (
            f"{changed}, and the ground per turn was measured on {day}, before that; measure again"
        )
    return ""
