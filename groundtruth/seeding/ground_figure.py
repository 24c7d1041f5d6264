"""The ground per gear turn that a target rests on: the figure, where it comes from, its age."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from pathlib import PurePath
from typing import Literal

from ..core.bounds import question_about, refuse_outside
from ..core.crops import Crop, Target
from ..core.errors import InputError
from ..core.language import English
from ..core.measured import Measured
from ..core.notices import Notice
from ..core.origin import Origin
from ..core.result import Judgement, Result


@dataclass(frozen=True, slots=True, kw_only=True)
class GroundFigure:
    """Ground per gear turn (m), when and in which run it was measured, the figure in use.

    ``settings`` is the seeder's order, empty where not known. ``origin`` tells farm and field,
    ``seeder`` its name, ``beds`` what the turn sheet calls those that were sown.
    ``measured_on`` is None and ``run_name`` empty where a figure was typed in; ``named_by_file``
    says that nobody named the run, so that it is called after a file. ``counts_in_doubt`` is the
    number of its turn counts that are doubtful or left out.
    """

    ground_per_turn: Measured
    ground_per_turn_95: tuple[float, float]
    measured_on: date | None = None
    run_name: str = ""
    named_by_file: bool = False
    in_use_m: float | None = None
    crops: tuple[Crop, ...] = ()
    settings: tuple[str, ...] = ()
    origin: Origin = field(default_factory=Origin)
    seeder: str = ""
    beds: tuple[str, ...] = ()
    counts_in_doubt: int = 0

    def __post_init__(self) -> None:
        if not self.ground_per_turn.value > 0:
            raise InputError(
                f"ground per turn is {self.ground_per_turn.value:g} m; it must be above 0"
            )
        refuse_outside("ground per turn", self.ground_per_turn.value, "ground_per_turn")

    def doubts(self) -> tuple[Notice, ...]:
        """A question about a figure that is possible but strange."""
        text = question_about(
            English("ground per turn"), self.ground_per_turn.value, "ground_per_turn"
        )
        return (Notice(kind="warning", text=text),) if text else ()

    def target(self, crop: Crop) -> Target:
        """Seeds per gear turn for a crop by this figure."""
        return crop.target(self.ground_per_turn, self.ground_per_turn_95, self.in_use_m or None)


class StaleFigureError(InputError):
    """The ground per turn is older than a change of the wheel it was measured with."""


def figure_of(result: Result) -> GroundFigure:
    """The pooled figure of a measured run.

    Raises
    ------
    InputError : the result's date is no day, or its figure cannot be true.
    """
    if not result.is_credible:
        raise InputError(
            "this run's figure cannot be true: its slip is impossible, or its counts contradict "
            "each other; mend the sheet or the seeder's description and measure it again"
        )
    try:
        day = date.fromisoformat(result.date)
    except ValueError:
        raise InputError(f"the result's date {result.date!r} is no day") from None
    return GroundFigure(
        ground_per_turn=result.ground_per_turn,
        ground_per_turn_95=result.ground_per_turn_95,
        measured_on=day,
        run_name=result.run_name,
        named_by_file=result.run_name in {PurePath(file.name).stem for file in result.inputs},
        in_use_m=result.seeder.ground_per_gear_turn_in_use_m,
        crops=tuple(t.crop for t in result.targets),
        settings=result.seeder.settings,
        origin=result.origin,
        seeder=result.seeder.name or result.seeder.id,
        beds=tuple(dict.fromkeys(figure.bed for figure in result.passes if figure.bed)),
        counts_in_doubt=sum(c.verdict is not Judgement.AGREES for c in result.cells),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class WheelChange:
    """A change that moves the ground per turn. ``what`` is "tyre", "drive wheel", …"""

    day: date
    what: str = "drive wheel or tyre"


def doubt_after(
    figure: GroundFigure, change: WheelChange | None
) -> Literal["older", "undated", ""]:
    """Why a change of the wheel makes the figure one not to trust, "" where it does not.

    "older": the figure was measured before the change; "undated": it is not known when. A figure
    measured on the day of the change is taken as measured after it, as the season's record takes
    it: a tyre is changed before the work.

    >>> typed = GroundFigure(ground_per_turn=Measured(0.64), ground_per_turn_95=(0.63, 0.65))
    >>> doubt_after(typed, WheelChange(day=date(2026, 5, 20)))
    'undated'
    """
    if change is None:
        return ""
    if figure.measured_on is None:
        return "undated"
    return "older" if figure.measured_on < change.day else ""
