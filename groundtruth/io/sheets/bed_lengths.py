"""Lengths of beds from a sheet."""

from __future__ import annotations

from ...core.beds import Bed
from ...core.errors import InputError
from ..files import FileInput
from .rows import read_rows

COLUMNS = ("bed", "length", "lines", "crop")


def read_bed_lengths(sheet: FileInput, *, crop: str = "", lines: int = 1) -> tuple[Bed, ...]:
    """The beds in a sheet `bed,length[,lines][,crop]`; of one crop only where one is named.

    Raises
    ------
    SheetError : the sheet cannot be read, or a line is no bed; the message names it.
    """
    rows = read_rows(sheet, what="bed sheet", required=COLUMNS[:2], optional=COLUMNS[2:])
    beds = []
    for row in rows:
        if crop and row.text("crop") and row.text("crop").casefold() != crop.casefold():
            continue
        length_m, own = row.length_m("length"), row.above_zero("lines")
        if length_m is None:
            raise row.fail("length is empty; write for example 40 m", "length")
        if own is not None and not own.is_integer():
            raise row.fail(f"lines is {own:g}; write a whole number", "lines")
        try:
            beds.append(Bed(name=row.text("bed"), length_m=length_m, lines=int(own or lines)))
        except InputError as why:
            raise row.fail(why.reason, why.column) from None
    return tuple(beds)
