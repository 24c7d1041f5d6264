"""What the figures of a sowing can be: one table of bounds, each with its reason.

A figure beyond its bounds is a slip of the pen or an attack, and is refused wherever it comes from:
the values of `core` look it up when they are made. A figure that is possible but strange is asked
about. All bounds are judgement (common practice, no source) and lie far outside what is usual, so
that nobody's odd machine is refused.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from math import isfinite
from typing import Literal

from .errors import InputError
from .language import English
from .units import unit_factor

MOST_WHOLE = 2**63 - 1
"""The largest whole number that files of other programs and the record can hold (64 bits)."""
MOST_NUMBER = 1e15
"""The largest number in a document: no length, time or count of a season comes near."""
FIRST_DAY, LAST_DAY = date(1980, 1, 6), date(2099, 12, 31)
"""Days on which somebody may have sown with a satellite receiver: GPS time begins on 1980-01-06
(IS-GPS-200, 3.3.4, from memory)."""


@dataclass(frozen=True, slots=True)
class Bounds:
    """The least and the most that a figure can be (SI), and why; ``usual`` where it is asked about.

    ``reason`` is a clause into which the two ends are put.
    """

    least: float
    most: float
    reason: str
    kind: Literal["length", "speed", "mass", "pressure", "number"] = "number"
    usual: tuple[float, float] | None = None


BOUNDS = {
    # the machine
    "wheel_circumference": Bounds(
        0.1, 15.0, "a drive wheel rolls {} in one turn", "length", (0.3, 7.0)
    ),
    "ground_per_turn": Bounds(0.005, 100.0, "a gear turn covers {}", "length", (0.1, 10.0)),
    "gear_turns_per_wheel_turn": Bounds(
        0.001, 1000.0, "a gear turns {} times in one turn of the wheel", usual=(0.05, 50.0)
    ),
    "teeth": Bounds(1, 1000, "a gear wheel has {} teeth"),
    "row_units": Bounds(1, 1000, "a toolbar carries {} row units", usual=(1, 64)),
    "row_spacing": Bounds(0.01, 20.0, "rows stand {} apart", "length", (0.02, 3.0)),
    "bed_width": Bounds(0.01, 100.0, "a pass sows {} across", "length", (0.05, 20.0)),
    "bed_spacing": Bounds(0.01, 100.0, "beds lie {} apart", "length", (0.1, 20.0)),
    "antenna": Bounds(-30.0, 30.0, "a phone lies {} from the row units", "length"),
    "tyre_pressure": Bounds(1e3, 2e6, "a tyre holds {}", "pressure", (2e4, 6e5)),
    "ballast": Bounds(0.0, 10_000.0, "a seeder carries {} of ballast", "mass", (0.0, 1000.0)),
    # the ground
    "bed_length": Bounds(
        0.1, 1e6, "a bed, or all rows of a field, is {} long", "length", (1.0, 3000.0)
    ),
    "alike_within": Bounds(0.0, 100.0, "ends of beds differ by {}", "length"),
    "speed": Bounds(0.01, 20.0, "a seeder is driven at {}", "speed", (0.1, 5.0)),
    "turn_s": Bounds(0, 3600, "a headland turn takes {} s"),
    # counts
    "turns": Bounds(0.01, 1e6, "a pass has {} turns"),
    "counter": Bounds(0.0, 1e9, "a counter shows {}"),
    "bench_turns": Bounds(0.01, 100_000.0, "a catch has {}"),
    "bench_seeds": Bounds(0.0, 100_000_000.0, "a catch holds {} seeds"),
    "check_turns": Bounds(1, 10_000, "a check at the bench has {} turns"),
    "seconds": Bounds(0.01, 1e6, "a catch takes {} s"),
    "turns_per_minute": Bounds(0.01, 10_000.0, "a gear makes {} turns a minute"),
    "plants": Bounds(0, 100_000_000, "a counted length holds {} plants"),
    "counted_length": Bounds(0.01, 20_000.0, "plants are counted along {}", "length"),
    "passes": Bounds(1, 100_000, "a day has {} passes"),
    # the crop
    "spacing": Bounds(0.0001, 20.0, "plants stand {} apart", "length", (0.002, 3.0)),
    "stand": Bounds(0.01, 100_000.0, "a metre of line holds {} plants or seeds"),
    "germination": Bounds(0.001, 1.0, "a share of seed lies within {}"),
    "seeds_tested": Bounds(1, 1_000_000, "a germination test takes {} seeds"),
    "seeds_per_gram": Bounds(0.001, 1_000_000.0, "a gram holds {} seeds"),
    "rate": Bounds(1e-8, 1000.0, "seed is sown at {} kg a square metre"),
    "lines": Bounds(1, 1000, "a bed has {} lines"),
    "depth": Bounds(0.0001, 2.0, "seed is sown {} deep", "length"),
    "loss": Bounds(0.0, 0.99, "a share from {} of the seed is lost"),
    "mass": Bounds(0.0, 1_000_000.0, "seed for a farm weighs {}", "mass"),
}
"""By name of the quantity, in SI (seeds per gram by the gram, as they are written)."""


def refuse_outside(
    name: str, value: float, bounds: str, *, error: type[InputError] = InputError
) -> None:
    """Refuse a figure that nothing of its kind can be; ``bounds`` is its row of the table.

    >>> refuse_outside("row_spacing", 0.0015, "row_spacing")
    Traceback (most recent call last):
    groundtruth.core.errors.InputError: row_spacing is 1.5 mm; rows stand 1 cm to 20 m apart; is \
it 15 cm?

    Raises
    ------
    error : the figure is not finite, or lies outside.
    """
    row = BOUNDS[bounds]
    if isfinite(value) and row.least <= value <= row.most:
        return
    raise error(f"{name} is {_shown(value, row)}; {_reason(row)}{_ask(value, row)}", column=name)


def question_about(name: str, value: float | None, bounds: str) -> str:
    """What to ask about a figure that is possible but strange, "" where it is usual or missing.

    >>> question_about("ground per turn", 0.06, "ground_per_turn")
    'ground per turn is 6 cm; usual are 10 cm to 10 m; is it 60 cm?'
    """
    row = BOUNDS[bounds]
    if value is None or row.usual is None or row.usual[0] <= value <= row.usual[1]:
        return ""
    figures = {
        "name": name,
        "value": _shown(value, row),
        "low": _shown(row.usual[0], row),
        "high": _shown(row.usual[1], row),
    }
    if meant := _meant(value, row):
        return English(
            "{name} is {value}; usual are {low} to {high}; is it {meant}?", **figures, meant=meant
        )
    return English("{name} is {value}; usual are {low} to {high}; is it right?", **figures)


def refuse_day(name: str, day: date, *, error: type[InputError] = InputError) -> None:
    """Refuse a day on which nobody sowed with a satellite receiver.

    Raises
    ------
    error : it lies before 1980-01-06 or after 2099-12-31.
    """
    if not FIRST_DAY <= day <= LAST_DAY:
        raise error(
            f"{name} is {day.isoformat()}; a day lies between {FIRST_DAY} and {LAST_DAY}",
            column=name,
        )


def _reason(row: Bounds) -> str:
    return row.reason.format(f"{_shown(row.least, row)} to {_shown(row.most, row)}")


def _shown(value: float, row: Bounds) -> str:
    """A figure in a unit that suits its size."""
    if not isfinite(value):
        return f"{value:g}"
    size = abs(value)
    if row.kind == "number":
        return f"{value:,.0f}" if 1000 <= size < 1e12 and value == round(value) else f"{value:g}"
    if row.kind == "speed":
        return English("{speed:.3g} km/h", speed=value / unit_factor("km/h"))
    if row.kind == "mass":
        return English("{mass:g} kg", mass=value)
    if row.kind == "pressure":
        return English("{pressure:.4g} bar", pressure=value / unit_factor("bar"))
    unit = "mm" if size < 0.01 else "cm" if size < 1 else "m" if size < 1000 else "km"
    number = value / unit_factor(unit)
    return English("{length:.4g} {unit}", length=number, unit=unit if value else "m")


def _ask(value: float, row: Bounds) -> str:
    meant = _meant(value, row)
    return f"; is it {meant}?" if meant else ""


def _meant(value: float, row: Bounds) -> str:
    """The figure with another unit, where that is usual, mm for m, in for ft; else ""."""
    if row.kind != "length" or row.usual is None or not isfinite(value):
        return ""
    for factor in _slips_of_unit():
        if row.usual[0] <= value * factor <= row.usual[1]:
            return _shown(value * factor, row)
    return ""


def _slips_of_unit() -> Iterator[float]:
    """Factors by which a length is off where the wrong unit was written."""
    for power in (10.0, 100.0, 1000.0):
        yield from (power, 1 / power)
