"""The machine in a run file: its table ``[seeder]``."""

from __future__ import annotations

from ..core.errors import InputError, RunFileError
from ..core.safe_text import clean
from ..core.seeder import Seeder, gear_ratio
from ..core.units import parse_length, parse_length_measured, parse_mass, parse_pressure
from .run_table import SEEDER, RunTable


def above_zero(text: str, *, what: str) -> float:
    """A written length above 0. [m]"""
    return parse_length(text, what=what, above_zero=True)


def read_seeder(table: RunTable) -> Seeder:
    """The machine of the table ``[seeder]``.

    Raises
    ------
    RunFileError, SeederError : a field is unknown or unusable; the error names its line.
    """
    table.only(SEEDER)
    ratio = table.number("gear_turns_per_wheel_turn")
    turns_of = table.choice("turns_of", ("gear", "wheel"), "gear")
    if "teeth" in table.fields:
        if ratio is not None:
            raise table.error("teeth", "gives both teeth and gear_turns_per_wheel_turn; keep one")
        ratio = _teeth(table)
    row_units = table.number("row_units")
    if row_units is not None and (not row_units.is_integer() or row_units > 1000):
        raise table.fail("row_units", f"{row_units:g} must be a whole number of row units")
    try:
        return Seeder(
            turns_of=turns_of,  # type: ignore[arg-type] # one of the two choices
            wheel_circumference=table.quantity("wheel_circumference", parse_length_measured),
            gear_turns_per_wheel_turn=1.0 if ratio is None else ratio,
            ground_per_gear_turn_in_use_m=table.quantity("ground_per_gear_turn_in_use", above_zero),
            row_units=None if row_units is None else int(row_units),
            row_spacing_m=table.quantity("row_spacing", above_zero),
            bed_width_m=table.quantity("bed_width", above_zero),
            bed_spacing_m=table.quantity("bed_spacing", above_zero),
            antenna_ahead_m=table.quantity("antenna_ahead", parse_length) or 0.0,
            antenna_right_m=table.quantity("antenna_right", parse_length) or 0.0,
            settings=_settings(table),
            name=clean(table.text("name")),
            id=clean(table.text("id")),
            tyre=clean(table.text("tyre")),
            tyre_pressure_pa=table.quantity("tyre_pressure", parse_pressure),
            ballast_kg=table.quantity("ballast", parse_mass),
        )
    except RunFileError:
        raise
    except InputError as why:
        raise table.placed(why, why.column) from None


def _settings(table: RunTable) -> tuple[str, ...]:
    value = table.fields.get("settings", [])
    if not isinstance(value, list) or not all(isinstance(one, str) for one in value):
        raise table.fail(
            "settings", 'must be a list from fewest to most seeds, as in ["F1", "F2", "C1"]'
        )
    return tuple(clean(one) for one in value)


def _teeth(table: RunTable) -> float:
    value = table.fields["teeth"]
    if isinstance(value, list) and len(value) == 2 and all(type(one) is int for one in value):
        value = [value]  # a single pair without the outer brackets
    pairs = []
    for pair in value if isinstance(value, list) else [None]:
        if not (
            isinstance(pair, list) and len(pair) == 2 and all(type(one) is int for one in pair)
        ):
            raise table.fail(
                "teeth", "must be pairs of [driving, driven] teeth, as in [[24, 12], [18, 12]]"
            )
        pairs.append((pair[0], pair[1]))
    try:
        return gear_ratio(pairs)
    except InputError as why:
        raise table.placed(why, "teeth") from None
