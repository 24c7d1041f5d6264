"""Stand counts from a sheet."""

from __future__ import annotations

from dataclasses import dataclass

from ...core.counts import StandCount
from ...core.errors import InputError
from ...core.notices import Notice
from ...core.track import InputFile
from ...core.units import FOOT
from ..files import FileInput
from ..timestamps import DateOrder
from .alike import alike_notices
from .rows import Row, read_rows

COLUMNS = (
    "crop",
    "length",
    "plants",
    "date",
    "seed_lot",
    "bed",
    "line",
    "seeds_per_metre",
    "seeds_per_foot",
)
_ALSO = {"lot": "seed_lot", "day": "date", "seeds_per_meter": "seeds_per_metre"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Stands:
    """All stand counts of a sheet."""

    counts: tuple[StandCount, ...]
    file: InputFile
    notices: tuple[Notice, ...] = ()

    @property
    def lots(self) -> tuple[tuple[str, str], ...]:
        """(crop, seed lot) pairs in order of first appearance."""
        return tuple(dict.fromkeys((c.crop, c.seed_lot) for c in self.counts))

    def of(self, crop: str, seed_lot: str) -> tuple[StandCount, ...]:
        """The counts of one pair of ``lots``."""
        return tuple(c for c in self.counts if (c.crop, c.seed_lot) == (crop, seed_lot))


def read_stands(sheet: FileInput, *, date_order: DateOrder | None = None) -> Stands:
    """The stand counts in a sheet `date,crop,seed_lot,bed,line,length,plants[,seeds_per_metre]`.

    ``date_order`` says which number of 05/12/2026 is the day.

    Raises
    ------
    SheetError : the sheet cannot be read, or a line holds no usable count; the message names it.
    """
    rows = read_rows(
        sheet,
        what="stand sheet",
        required=COLUMNS[:3],
        optional=COLUMNS[3:],
        also=_ALSO,
        spread=("plants", "line"),
    )
    return Stands(
        counts=tuple(_count(r, date_order) for r in rows),
        file=rows.file,
        notices=(*rows.notices, *alike_notices(rows, "crop", "seed_lot")),
    )


def _count(row: Row, date_order: DateOrder | None) -> StandCount:
    length_m, plants = row.length_m("length"), row.number("plants")
    if length_m is None or plants is None:
        empty = "length" if length_m is None else "plants"
        raise row.fail(f"{empty} is empty", empty)
    if not plants.is_integer():
        raise row.fail(f"plants is {plants:g}; write a whole number", "plants")
    per_ft, day = row.above_zero("seeds_per_foot"), row.day("date", date_order)
    per_m = row.above_zero("seeds_per_metre")
    try:
        return StandCount(
            crop=row.text("crop"),
            seed_lot=row.text("seed_lot"),
            length_m=length_m,
            plants=int(plants),
            day=day,
            bed=row.text("bed"),
            line_of_bed=row.text("line"),
            seeds_per_m=per_ft / FOOT.value if per_ft else per_m,
            line=row.line,
        )
    except InputError as why:
        raise row.fail(why.reason, why.column) from None
