"""Spacings along the row from a sheet."""

from __future__ import annotations

from ..files import FileInput
from .rows import read_rows

COLUMNS = ("spacing", "crop", "bed", "line", "seed_lot", "date")


def read_spacings(sheet: FileInput) -> tuple[float, ...]:
    """The spacings (m) in a sheet with a column `spacing`, one line for each gap along the row.

    Raises
    ------
    SheetError : the sheet cannot be read, or a line holds no length; the message names it.
    """
    rows = read_rows(
        sheet,
        what="spacing sheet",
        required=COLUMNS[:1],
        optional=COLUMNS[1:],
    )
    found = []
    for row in rows:
        if row.text("spacing").split(" ")[0].strip("0.,") == "" and row.text("spacing"):
            found.append(0.0)  # two plants at one place: the length reader refuses 0
            continue
        spacing_m = row.length_m("spacing")
        if spacing_m is None:
            raise row.fail("spacing is empty; write for example 4.5 cm", "spacing")
        found.append(spacing_m)
    return tuple(found)
