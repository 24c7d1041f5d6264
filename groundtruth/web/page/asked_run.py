"""The run that the page asks about, from JSON to a typed request."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from ...app.typed_run import TypedCrop, TypedPass, TypedRun
from ...core.errors import InputError
from ...io.files import Source
from ...io.run_table import ORIGIN, SEEDER, SOIL
from .asked import flag, list_of, shown_units, table, text, texts, two_texts, whole_number

MOST_PASSES = 2000
MOST_UNITS = 60
_MACHINE = tuple(field for field in SEEDER if field != "teeth")


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
        strip=two_texts(of, "strip") if of.get("strip") else None,
    )
