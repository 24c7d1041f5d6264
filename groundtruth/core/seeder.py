"""The machine: drive wheel, gearing from wheel to counted gear, row units."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from .bounds import question_about, refuse_outside
from .errors import SeederError
from .measured import Measured
from .notices import Notice

_BOUNDS = {"ground_per_gear_turn_in_use": "ground_per_turn"}
"""Rows of the table of bounds where they are called otherwise."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Seeder:
    """What is known of the machine before the run; lengths in metres.

    ``turns_of`` says what was counted, the gear that is turned by hand at the bench or the drive
    wheel. ``wheel_circumference`` is the zero-slip travel of the wheel: rolled out along a tape on
    firm ground. It is needed for slip only. ``settings`` are the labels of the metering's settings
    in order, from fewest to most seeds.

    ``bed_width_m`` is what a pass sows across (row units times their spacing where not given),
    ``bed_spacing_m`` the distance from bed to bed. The phone lies ``antenna_ahead_m`` in front of
    the row units and ``antenna_right_m`` to the right of the toolbar's middle, seen forwards;
    below 0 is behind, or to the left.

    ``name`` is what its people call it, ``id`` what it is known by to others, "" where they are
    not given. ``tyre`` is that of the drive wheel, in words, ``tyre_pressure_pa`` over the air
    around it, ``ballast_kg`` what is carried to press the wheel down.

    Raises
    ------
    SeederError : a figure is not above 0 or out of its bounds, or a setting is empty or stands
        in the order twice.
    """

    turns_of: Literal["gear", "wheel"] = "gear"
    wheel_circumference: Measured | None = None
    gear_turns_per_wheel_turn: float = 1.0
    ground_per_gear_turn_in_use_m: float | None = None
    row_units: int | None = None
    row_spacing_m: float | None = None
    settings: tuple[str, ...] = ()
    bed_width_m: float | None = None
    bed_spacing_m: float | None = None
    antenna_ahead_m: float = 0.0
    antenna_right_m: float = 0.0
    name: str = ""
    id: str = ""
    tyre: str = ""
    tyre_pressure_pa: float | None = None
    ballast_kg: float | None = None

    def __post_init__(self) -> None:
        for name, value in self._figures():
            if value is not None:
                if not value > 0:
                    raise SeederError(f"{name} is {value:g}; it must be above 0", column=name)
                refuse_outside(name, value, _BOUNDS.get(name, name), error=SeederError)
        for name, value in (
            ("antenna_ahead", self.antenna_ahead_m),
            ("antenna_right", self.antenna_right_m),
        ):
            refuse_outside(name, value, "antenna", error=SeederError)
        if self.ballast_kg is not None:  # none at all may be said, too
            refuse_outside("ballast", self.ballast_kg, "ballast", error=SeederError)
        for label in self.settings:
            if not label or self.settings.count(label) > 1:
                wrong = "stands in the order twice" if label else "is empty"
                raise SeederError(f"settings: {label!r} {wrong}", column="settings", cell=label)

    def _figures(self) -> tuple[tuple[str, float | None], ...]:
        """The figures that are above 0 where they are known, by their names in a run file."""
        wheel = self.wheel_circumference
        return (
            ("wheel_circumference", None if wheel is None else wheel.value),
            ("gear_turns_per_wheel_turn", self.gear_turns_per_wheel_turn),
            ("ground_per_gear_turn_in_use", self.ground_per_gear_turn_in_use_m),
            ("row_units", self.row_units),
            ("row_spacing", self.row_spacing_m),
            ("bed_width", self.bed_width_m),
            ("bed_spacing", self.bed_spacing_m),
            ("tyre_pressure", self.tyre_pressure_pa),
        )

    def doubts(self, where: str = "") -> tuple[Notice, ...]:
        """A question about each figure that is possible but strange; ``where`` names its file.

        >>> [str(doubt) for doubt in Seeder(row_spacing_m=0.012).doubts("run.toml")]
        ['run.toml: row_spacing is 1.2 cm; usual are 2 cm to 3 m; is it 12 cm?']
        """
        figures = (*self._figures(), ("ballast", self.ballast_kg))
        asked = (question_about(n, v, _BOUNDS.get(n, n)) for n, v in figures)
        return tuple(Notice(kind="warning", text=text, where=where) for text in asked if text)

    @property
    def known_as(self) -> str:
        """What tells this seeder from others: its id, else its name, "" where it has neither."""
        return self.id or self.name

    @property
    def sown_width_m(self) -> float | None:
        """What a pass sows across: the bed width, else row units times spacing. [m]"""
        if self.bed_width_m is not None:
            return self.bed_width_m
        if self.row_units is None or self.row_spacing_m is None:
            return None
        return self.row_units * self.row_spacing_m

    @property
    def zero_slip_travel(self) -> Measured | None:
        """Ground per gear turn if the wheel just rolled, c = circumference / gear ratio. [m]"""
        if self.wheel_circumference is None:
            return None
        return self.wheel_circumference.scaled(1 / self.gear_turns_per_wheel_turn)

    @property
    def gear_turns_per_counted_turn(self) -> float:
        """Gear turns for one turn of what was counted. [-]"""
        return 1.0 if self.turns_of == "gear" else self.gear_turns_per_wheel_turn


def gear_ratio(teeth: list[tuple[int, int]]) -> float:
    """Turns of the last gear for one turn of the first, from (driving, driven) teeth along it. [-]

    The ratio of a train is the product of driving over driven teeth (common practice, no source).

    Raises
    ------
    SeederError : no pair, or a number of teeth that is not above 0.
    """
    if not teeth:
        raise SeederError("teeth: give at least one pair of [driving, driven]", column="teeth")
    ratio = 1.0
    for driving, driven in teeth:
        if driving <= 0 or driven <= 0:
            raise SeederError(
                f"teeth: [{driving}, {driven}]: teeth must be above 0",
                column="teeth",
                cell=f"[{driving}, {driven}]",
            )
        for count in (driving, driven):
            refuse_outside("teeth", count, "teeth", error=SeederError)
        ratio *= driving / driven
    refuse_outside("teeth, the ratio", ratio, "gear_turns_per_wheel_turn", error=SeederError)
    return ratio
