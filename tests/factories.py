"""Invented results to show: a farm, crops and figures made up for these tests.

The figures are drawn at random about made-up values and are no measurement; what is tested with
them is how results are shown and stored, not how they are computed.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable
from math import cos, radians

from groundtruth.core.crops import Crop, Target, plants_per_metre
from groundtruth.core.findings import Advice, AdviceKind, Finding, FindingKind
from groundtruth.core.measured import Measured
from groundtruth.core.notices import Notice
from groundtruth.core.result import PassFigure, PassLine, Result, Share, UnitFigure
from groundtruth.core.run import UnitSystem
from groundtruth.core.seeder import Seeder
from groundtruth.core.track import InputFile
from groundtruth.core.uncertainty import UncertaintySource

START_S = 1_778_569_267.0  # 2026-05-12 07:01:07 UTC
METRES_PER_DEGREE = 111_320.0
LATITUDE_DEG = 48.7
LONGITUDE_DEG = 7.1

Text = Callable[[str], str]


def plain(text: str) -> str:
    return text


def make_result(
    *,
    passes: int = 10,
    units: Iterable[str] = ("1",),
    lagging: str | None = None,
    shown_in: UnitSystem = "us",
    slip: bool = True,
    in_use: bool = True,
    text: Text = plain,
    seed: int = 4,
    bed_m: float = 118.0,
) -> Result:
    """A whole result. ``text`` is applied to every string that a file can fill."""
    rng = random.Random(seed)
    units = tuple(units)
    zero_slip_m = 0.613
    pooled = Measured(0.6387, 0.0034)
    figures = []
    lines = []
    time_s = START_S
    for number in range(1, passes + 1):
        length_m = bed_m + rng.uniform(-4, 4)
        line = _line(number, length_m, time_s, rng)
        lines.append(line)
        true_m = pooled.value * (1 + rng.gauss(0, 0.012))
        distance = Measured(length_m + rng.gauss(0, 1.3), 1.25 + rng.uniform(-0.2, 0.3))
        for unit in units:
            lag = 0.94 if unit == lagging else 1.0
            turns = Measured(round(length_m / true_m * lag), 0.408)
            ground = distance.per(turns)
            figures.append(
                PassFigure(
                    number=number,
                    unit=text(unit),
                    start_s=line.time_s[0],
                    end_s=line.time_s[-1],
                    start_found="stopped" if number % 3 else "turn sheet",
                    end_found="stopped" if number % 4 else "rolling",
                    distance=distance,
                    turns=turns,
                    ground_per_turn=ground,
                    slip=_slip(zero_slip_m, ground) if slip else None,
                    setting=text("D4"),
                    crop=text("beetroot" if number % 2 else "parsnip"),
                    bed=text(f"N{number}"),
                )
            )
        time_s = line.time_s[-1] + 50
    return Result(
        run_name=text("Quillfen Farm, north strip"),
        date="2026-05-12",
        time_zone="Europe/Paris",
        units=shown_in,
        seeder=Seeder(
            turns_of="gear",
            wheel_circumference=Measured(1.839, 0.003) if slip else None,
            gear_turns_per_wheel_turn=3.0,
            ground_per_gear_turn_in_use_m=0.622 if in_use else None,
            row_units=len(units),
            row_spacing_m=0.38,
        ),
        ground_per_turn=pooled,
        ground_per_turn_95=(0.6317, 0.6457),
        slip=_slip(zero_slip_m, pooled) if slip else None,
        slip_95=(0.0291, 0.0508) if slip else None,
        change=Measured(0.0269, 0.0055) if in_use else None,
        spread_between_passes=Measured(0.0071, 0.0032),
        passes=tuple(figures),
        row_units=tuple(_row_unit(u, lagging, passes, slip, text, rng) for u in units),
        lines=tuple(lines),
        budget=(
            Share(source=UncertaintySource.POSITION, std_m=0.00256, share=0.567),
            Share(source=UncertaintySource.PASSES, std_m=0.00167, share=0.241),
            Share(source=UncertaintySource.ENDS, std_m=0.00119, share=0.123),
            Share(source=UncertaintySource.COUNTING, std_m=0.00071, share=0.044),
            Share(source=UncertaintySource.WINDING, std_m=0.00054, share=0.025),
        ),
        targets=_targets(in_use, text),
        advice=(
            Advice(kind=AdviceKind.MORE_PASSES, passes=passes + 10, half_width_95=0.008),
            Advice(kind=AdviceKind.STAND, half_width_95=0.009),
        ),
        findings=(Finding(kind=FindingKind.UNCOUNTED, passes=(passes + 1,)),),
        repairs=(
            Notice(
                kind="repair",
                text=text("points doubled, the second left out"),
                count=14,
                where=text("quillfen-0512.gpx point 203"),
            ),
        ),
        warnings=(Notice(kind="warning", text=text("times are cut to whole seconds"), where=""),),
        facts=(Notice(kind="fact", text=text("put together from 2 files")),),
        inputs=(
            InputFile(name=text("run.toml"), sha256="5f" * 32),
            InputFile(name=text("quillfen-0512.gpx"), sha256="a1" * 32),
            InputFile(name=text("turns.csv"), sha256="0c" * 32),
        ),
        tool_version="0.1.0",
        fixes=_fixes(lines, rng),
    )


def _slip(zero_slip_m: float, ground: Measured) -> Measured:
    return Measured(1 - zero_slip_m / ground.value, zero_slip_m * ground.std / ground.value**2)


def _line(number: int, length_m: float, start_s: float, rng: random.Random) -> PassLine:
    east_per_m = 1 / (METRES_PER_DEGREE * cos(radians(LATITUDE_DEG)))
    north_per_m = 1 / METRES_PER_DEGREE
    across_m, forth = 1.55 * number, number % 2 == 1
    ends = [(0.0, across_m), (length_m, across_m)]
    if not forth:
        ends.reverse()
    tilt = radians(17)

    def place(along: float, across: float) -> tuple[float, float]:
        east = along * cos(tilt) - across * 0.292
        north = along * 0.292 + across * cos(tilt)
        return LONGITUDE_DEG + east * east_per_m, LATITUDE_DEG + north * north_per_m

    fixes, drift = [], [0.0, 0.0]
    for second in range(int(length_m) + 1):
        share = min(1.0, second / length_m)
        drift = [0.98 * d + rng.gauss(0, 0.12) for d in drift]
        along = ends[0][0] + (ends[1][0] - ends[0][0]) * share
        fixes.append((start_s + second, *place(along + drift[0], across_m + drift[1])))
    return PassLine(
        number=number,
        time_s=tuple(f[0] for f in fixes),
        longitude_deg=tuple(f[1] for f in fixes),
        latitude_deg=tuple(f[2] for f in fixes),
        axis=(place(*ends[0]), place(*ends[1])),
        axis_deg=73.0 if forth else 253.0,
        speed_m_s=1.0,
    )


def _fixes(lines: list[PassLine], rng: random.Random) -> tuple[tuple[float, float], ...]:
    found = []
    for line in lines:
        found += list(zip(line.longitude_deg, line.latitude_deg, strict=True))
        lon, lat = found[-1]
        for _ in range(12):
            lon += rng.gauss(0, 1e-5)
            lat += rng.gauss(0, 1e-5)
            found.append((lon, lat))
    return tuple(found)


def _row_unit(
    unit: str, lagging: str | None, passes: int, slip: bool, text: Text, rng: random.Random
) -> UnitFigure:
    lag = 0.94 if unit == lagging else 1.0
    ground = Measured(0.6387 / lag + rng.gauss(0, 0.0008), 0.0035)
    return UnitFigure(
        unit=text(unit),
        passes=passes,
        ground_per_turn=ground,
        slip=_slip(0.613, ground) if slip else None,
        turns_against_others=Measured(lag + rng.gauss(0, 0.001), 0.0012),
        lags=unit == lagging,
    )


def _targets(in_use: bool, text: Text) -> tuple[Target, ...]:
    crops = (
        Crop(
            name=text("beetroot"),
            plants_per_m=plants_per_metre(0.035),
            germination=Measured(0.82),
        ),
        Crop(
            name=text("parsnip"),
            plants_per_m=plants_per_metre(0.06),
            germination=Measured(0.71),
            field_emergence=Measured(0.85),
        ),
    )
    found = []
    for crop in crops:
        per_metre = crop.seeds_wanted_per_m.value
        seeds = Measured(0.6387, 0.0034).scaled(per_metre)
        found.append(
            Target(
                crop=crop,
                seeds_per_turn=seeds,
                seeds_per_turn_95=seeds.interval(),
                seeds_per_turn_in_use=0.622 * per_metre if in_use else None,
            )
        )
    return tuple(found)
