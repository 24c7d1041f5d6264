"""What the page asks, from JSON to typed requests: every value checked, none believed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from ...app.typed_run import TypedCrop, TypedPass, TypedRun
from ...core.errors import InputError
from ...core.run import UnitSystem
from ...io.files import Source
from ...io.run_table import ORIGIN, SEEDER, SOIL

MOST_TEXT = 400
MOST_PASSES = 2000
MOST_UNITS = 60
_MACHINE = tuple(field for field in SEEDER if field != "teeth")


def table(value: Any, what: str = "question") -> dict[str, Any]:
    """A JSON object.

    Raises
    ------
    InputError : it is something else. So do the functions below.
    """
    if not isinstance(value, dict):
        raise InputError(f"{what}: must be an object")
    return value


def text(of: dict[str, Any], key: str) -> str:
    """A text, "" where it is missing."""
    value = of.get(key, "")
    if not isinstance(value, str) or len(value) > MOST_TEXT:
        raise InputError(f"{key}: must be text of up to {MOST_TEXT} characters", column=key)
    return value


def flag(of: dict[str, Any], key: str) -> bool:
    """Whether something is ticked."""
    return of.get(key) is True


def whole_number(of: dict[str, Any], key: str) -> int:
    """A whole number from 0."""
    value = of.get(key)
    if type(value) is not int or not 0 <= value < 2**53:
        raise InputError(f"{key}: must be a whole number", column=key)
    return value


def list_of(of: dict[str, Any], key: str, most: int) -> Sequence[Any]:
    """A list, empty where it is missing."""
    value = of.get(key, [])
    if not isinstance(value, list) or len(value) > most:
        raise InputError(f"{key}: must be a list of up to {most}", column=key)
    return value


def texts(of: dict[str, Any], key: str, most: int) -> tuple[str, ...]:
    """A list of texts."""
    return tuple(text({key: one}, key) for one in list_of(of, key, most))


def shown_units(of: dict[str, Any]) -> UnitSystem:
    """The units to show."""
    return "us" if of.get("units") == "us" else "metric"


def typed_run(
    of: dict[str, Any], names: Callable[[str], str], sheet: Callable[[str], Source]
) -> TypedRun:
    """The run as typed; ``names`` and ``sheet`` find a file of the desk by its key."""
    machine = table(of.get("machine", {}), "machine")
    soil = table(of.get("soil", {}), "soil")
    row_units = texts(of, "row_units", MOST_UNITS)
    if len({u.strip() for u in row_units}) < len(row_units) or not all(map(str.strip, row_units)):
        raise InputError("row units: give each a name of its own", column="row_units")
    key = text(of, "sheet")
    return TypedRun(
        name=text(of, "name"),
        units=shown_units(of),
        time_zone=text(of, "time_zone"),
        track_names=tuple(names(key) for key in texts(of, "tracks", 40)),
        row_units=tuple(" ".join(u.split()) for u in row_units),
        passes=tuple(_pass(table(one)) for one in list_of(of, "passes", MOST_PASSES)),
        by_counter=flag(of, "by_counter"),
        sheet=sheet(key) if key else None,
        machine=tuple((name, text(machine, name)) for name in _MACHINE),
        origin=tuple((name, text(of, name)) for name in ORIGIN),
        soil=tuple((name, text(soil, name)) for name in SOIL),
        bed_length=text(of, "bed_length"),
        crops=tuple(
            TypedCrop(
                crop=text(one, "crop"),
                spacing=text(one, "spacing"),
                germination=text(one, "germination"),
                field_emergence=text(one, "field_emergence"),
            )
            for one in map(table, list_of(of, "crops", 100))
            if any(map(str.strip, (text(one, "crop"), text(one, "spacing"))))
        ),
    )


def _pass(of: dict[str, Any]) -> TypedPass:
    return TypedPass(
        number=whole_number(of, "number"),
        turns=texts(of, "turns", MOST_UNITS),
        at_start=texts(of, "at_start", MOST_UNITS),
        at_end=texts(of, "at_end", MOST_UNITS),
        setting=text(of, "setting"),
        crop=text(of, "crop"),
        bed=text(of, "bed"),
        taped=text(of, "taped"),
        struck=flag(of, "struck"),
    )
