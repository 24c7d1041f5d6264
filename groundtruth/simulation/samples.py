"""The sample runs: an invented farm with its own machines, crops and figures."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

from ..core.crops import Crop, plants_per_metre
from ..core.errors import InputError
from ..core.measured import Measured
from ..core.plane import Plane
from ..core.run import UnitSystem
from ..core.seeder import Seeder
from ..core.turns import TurnSheet
from ..core.units import INCH
from .day import SimulatedDay, simulate_day
from .scenario import Doppler, FieldLayout, Motion, Phone, Scenario, Wheels
from .write import write_run

_PLACE = Plane(longitude_deg=-41.3572, latitude_deg=43.6184)  # open sea


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """One sample run and how it is made. ``beds`` and ``crops`` are written beside the counts."""

    folder: str
    about: str
    scenario: Scenario
    seed: int
    begin: datetime
    seeder: Seeder
    crops: tuple[Crop, ...]
    units: UnitSystem
    time_zone: str | None = None
    beds: str = ""
    setting: str = ""


def _scenario(
    name: str,
    *,
    passes: int,
    bed_m: float,
    speed_m_s: float,
    phone: Phone,
    wheels: Wheels,
) -> Scenario:
    """A day of one field with a short drive."""
    return Scenario(
        name=name,
        about="sample run",
        motion=Motion(speed_m_s=(speed_m_s, speed_m_s), elevation_m=(60, 60), slope=(0.004, 0.004)),
        field=FieldLayout(
            passes=(passes, passes),
            bed_length_m=(bed_m, bed_m),
            bed_width_m=(1.5, 1.5),
            drive_m=(300, 300),
            pauses=(1, 1),
            pause_s=(40, 60),
        ),
        phone=phone,
        wheels=wheels,
    )


def _wheels(
    circumference_m: float, ratio: float, slip: float, *, units: int, lagging: float = 0.0
) -> Wheels:
    """The wheels of a sample, with an exact size and slip."""
    return Wheels(
        units=units,
        circumference_m=(circumference_m, circumference_m),
        gear_ratio=(ratio, ratio),
        slip=(slip, slip),
        slip_between_passes=(0.004, 0.004),
        lagging=(lagging, lagging),
    )


_FOUR_ROW = Seeder(
    turns_of="gear",
    wheel_circumference=Measured(71.5 * INCH.value, 0.08 * INCH.value),
    gear_turns_per_wheel_turn=2.4,
    ground_per_gear_turn_in_use_m=29.8 * INCH.value,
    row_units=4,
    row_spacing_m=14 * INCH.value,
    settings=("hole 9", "hole 10", "hole 11", "hole 12", "hole 13"),
)
_TWO_ROW = Seeder(
    turns_of="gear",
    wheel_circumference=Measured(1.386, 0.002),
    gear_turns_per_wheel_turn=1.75,
    ground_per_gear_turn_in_use_m=0.805,
    row_units=2,
    row_spacing_m=0.45,
)
_MODERATE = Phone(
    slow_m=(1.2, 1.8),
    slow_time_s=(60, 600),
    fast_m=(0.3, 0.5),
    fast_time_s=(5, 20),
    rise_s=(0, 0),
    white_m=(0.1, 0.2),
    corrections_per_minute=(0, 0),
    late_share=(0, 0),
    frozen_share=(0, 0),
)
_SMOOTHING = replace(
    _MODERATE,
    slow_m=(1.0, 1.6),
    fast_m=(0.3, 0.8),
    white_m=(0.01, 0.05),
    inner_white_m=(0.1, 0.5),
    lag_s=(1.0, 3.0),
    frozen_share=(0.47, 0.99),
)


def _crop(name: str, spacing_m: float, germination: float, field_emergence: float = 1.0) -> Crop:
    return Crop(
        name=name,
        plants_per_m=plants_per_metre(spacing_m),
        germination=Measured(germination),
        field_emergence=Measured(field_emergence),
    )


SAMPLES: tuple[Sample, ...] = (
    Sample(
        folder="dry-firm",
        about="Tindlewick Farm, Long Piece: four-row seeder on dry, firm soil. A simulated run.\n"
        "The counters were read standing at both ends; times are the farm's local time.",
        scenario=_scenario(
            "dry, firm soil",
            passes=8,
            bed_m=72.0,
            speed_m_s=1.15,
            phone=replace(_MODERATE, doppler=Doppler()),
            wheels=_wheels(1.8165, 2.4, 0.021, units=4),
        ),
        seed=1101,
        begin=datetime(2027, 4, 27, 13, 5, tzinfo=UTC),
        seeder=_FOUR_ROW,
        crops=(
            _crop("beet", 1.75 * INCH.value, 0.81),
            _crop("spinach", 1.1 * INCH.value, 0.9),
        ),
        units="us",
        time_zone="America/Chicago",
        beds="L",
        setting="hole 11",
    ),
    Sample(
        folder="wet-soil",
        about="Tindlewick Farm, Long Piece, after a night's rain: the same seeder on wet soil.\n"
        "A simulated run. The sheet follows the order of the passes; unit 4 lags.",
        scenario=_scenario(
            "wet soil after rain",
            passes=8,
            bed_m=72.0,
            speed_m_s=1.0,
            phone=_SMOOTHING,
            wheels=replace(_wheels(1.8165, 2.4, 0.064, units=4, lagging=0.05), instants=False),
        ),
        seed=1102,
        begin=datetime(2027, 5, 2, 14, 20, tzinfo=UTC),
        seeder=_FOUR_ROW,
        crops=(_crop("beet", 1.75 * INCH.value, 0.81),),
        units="us",
    ),
    Sample(
        folder="old-tyres",
        about="Tindlewick Farm, Quarry Field: two-row seeder on its worn tyres. A simulated run.\n"
        "The sheet is a running counter, read at both ends of every pass (times in UTC).",
        scenario=_scenario(
            "before the tyre change",
            passes=7,
            bed_m=64.0,
            speed_m_s=0.95,
            phone=_MODERATE,
            wheels=replace(_wheels(1.3868, 1.75, 0.033, units=2), counts="running"),
        ),
        seed=1103,
        begin=datetime(2027, 5, 11, 7, 40, tzinfo=UTC),
        seeder=_TWO_ROW,
        crops=(_crop("carrot", 0.024, 0.76, 0.85),),
        units="metric",
    ),
    Sample(
        folder="new-tyres",
        about="Tindlewick Farm, Quarry Field: the two-row seeder a week later, on new tyres.\n"
        "A simulated run. Turns are counted to a tenth; the grower still works with the old\n"
        "figure for the ground per gear turn.",
        scenario=_scenario(
            "after the tyre change",
            passes=7,
            bed_m=64.0,
            speed_m_s=0.95,
            phone=replace(_MODERATE, slow_m=(0.8, 1.2)),
            wheels=replace(_wheels(1.4312, 1.75, 0.031, units=2), counts="tenth"),
        ),
        seed=1104,
        begin=datetime(2027, 5, 18, 8, 10, tzinfo=UTC),
        seeder=replace(_TWO_ROW, wheel_circumference=Measured(1.431, 0.002)),
        crops=(
            _crop("carrot", 0.024, 0.76, 0.85),
            _crop("spinach", 0.036, 0.83),
        ),
        units="metric",
    ),
)


def simulate_sample(sample: Sample) -> SimulatedDay:
    """The simulated day of a sample, with the beds, crop and setting written in its sheet."""
    day = simulate_day(sample.scenario, sample.seed, plane=_PLACE, begin_s=sample.begin.timestamp())
    counts = tuple(
        replace(
            count,
            setting=sample.setting,
            crop=sample.crops[0].name if sample.setting else "",
            bed=f"{sample.beds}{count.pass_number}" if sample.beds else "",
        )
        for count in day.sheet.counts
    )
    sheet = TurnSheet(name="turns.csv", counts=counts, readings=day.sheet.readings)
    return replace(day, sheet=sheet, seeder=sample.seeder)


def write_samples(
    folder: str | os.PathLike[str], names: Sequence[str] = (), *, overwrite: bool = False
) -> tuple[Path, ...]:
    """Write the sample runs (all, or those named), a folder each; returns the run.toml paths.

    Raises
    ------
    InputError : there is no sample of that name, or a file cannot be written.
    """
    known = {sample.folder: sample for sample in SAMPLES}
    for name in names:
        if name not in known:
            raise InputError(f'no sample run is called "{name}"; there are {", ".join(known)}')
    return tuple(
        write_run(
            simulate_sample(sample),
            Path(folder) / sample.folder,
            units=sample.units,
            time_zone=sample.time_zone,
            crops=sample.crops,
            about=sample.about,
            overwrite=overwrite,
        )
        for sample in SAMPLES
        if not names or sample.folder in names
    )
