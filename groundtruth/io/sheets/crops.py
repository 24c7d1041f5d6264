"""What is wanted of each crop: a stand or a rate, the seed's quality, what stand is accepted."""

from __future__ import annotations

import re
from dataclasses import dataclass

from ...core.crops import (
    ALL,
    Crop,
    germination_from_test,
    plants_per_metre,
    plants_per_metre_from_bed,
    seeds_per_metre_from_rate,
)
from ...core.errors import InputError, QuantityError
from ...core.measured import Measured
from ...core.notices import Notice
from ...core.track import InputFile
from ...core.units import FOOT, parse_area, parse_mass
from ...core.written import number
from ..files import FileInput
from .alike import alike_notices
from .rows import Row, read_rows


def parse_rate(text: str, *, what: str = "rate") -> float:
    """A written rate by weight ("9 lb/acre", "10 kg/ha") in kg/m².

    Raises
    ------
    QuantityError : it cannot be read or is not above 0.
    """
    mass, slash, area = text.partition("/")
    if not slash:
        mass, slash, area = text.partition(" per ")
    if not slash:
        raise QuantityError(
            f"{what}: {text!r} is no rate; write for example 9 lb/acre or 10 kg/ha",
            column=what,
            cell=text,
        )
    return parse_mass(mass, what=what, above_zero=True) / parse_area(f"1 {area}", what=what)


def parse_accept(text: str) -> tuple[float, float]:
    """An accepted range of plants along a line, "20-28", "20 to 28 per m", "6-9 per ft". [1/m]

    Raises
    ------
    QuantityError : it is no such range.
    """
    match = re.fullmatch(
        r"\s*([\d.,]+)\s*(?:-|–|—|to|…|\.\.)\s*([\d.,]+)\s*(?:(?:/|per)\s*(m|metre|meter|ft|foot))?\s*",
        text.lower(),
    )
    try:
        ends = [number(match[1]), number(match[2])] if match else []
    except ValueError:
        ends = []
    if not match or not 0 < ends[0] < ends[1]:
        raise QuantityError(
            f"accept: {text!r} is no range; write plants as in 20-28 per m or 6-9 per ft",
            column="accept",
            cell=text,
        )
    per = FOOT.value if match[3] in ("ft", "foot") else 1.0
    return ends[0] / per, ends[1] / per


COLUMNS = (
    "crop",
    "seed_lot",
    "spacing",
    "plants_per_bed_metre",
    "plants_per_bed_foot",
    "lines",
    "rate",
    "row_spacing",
    "germination",
    "germination_tested",
    "field_emergence",
    "accept",
    "seeds_per_gram",
    "depth",
)
_ALSO = {
    "lot": "seed_lot",
    "plants_per_bed_meter": "plants_per_bed_metre",
    "emergence": "field_emergence",
    "tested": "germination_tested",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class CropSheet:
    """All crops of a sheet."""

    crops: tuple[Crop, ...]
    file: InputFile
    notices: tuple[Notice, ...] = ()


def read_crops(sheet: FileInput) -> CropSheet:
    """The crops in a crop sheet, one line for each crop and seed lot.

    Raises
    ------
    SheetError : the sheet cannot be read, or a line cannot be used; the message names it.
    """
    rows = read_rows(
        sheet, what="crop sheet", required=COLUMNS[:1], optional=COLUMNS[1:], also=_ALSO
    )
    return CropSheet(
        crops=tuple(_crop(r) for r in rows),
        file=rows.file,
        notices=(*rows.notices, *alike_notices(rows, "crop", "seed_lot")),
    )


def _crop(row: Row) -> Crop:
    crop = row.text("crop")
    if not crop:
        raise row.fail("crop is empty; name it", "crop")
    lines = row.above_zero("lines")
    if lines is not None and not lines.is_integer():
        raise row.fail(f"lines is {lines:g}; write a whole number", "lines")
    per_gram = row.with_limits("seeds_per_gram")
    try:
        return Crop(
            name=crop,
            seed_lot=row.text("seed_lot"),
            **_density(row, int(lines or 1), per_gram),
            germination=germination_from_test(
                row.share("germination") or 1.0, row.above_zero("germination_tested")
            ),
            field_emergence=row.share_with_limits("field_emergence") or ALL,
            accept=parse_accept(row.text("accept")) if row.text("accept") else None,
            lines=int(lines or 1),
            seeds_per_kg=per_gram.scaled(1000) if per_gram else None,
            depth_m=row.length_m("depth"),
        )
    except InputError as why:
        if why.file:
            raise
        raise row.fail(f"{crop}: {why.reason}", why.column) from None


def _density(row: Row, lines: int, seeds_per_gram: Measured | None) -> dict[str, float]:
    """The stand or rate wanted, from the one column that is filled."""
    ways = ("spacing", "plants_per_bed_metre", "plants_per_bed_foot", "rate")
    given = [name for name in ways if row.text(name)]
    if len(given) != 1:
        found = " and ".join(given) or "none of them"
        raise row.fail(f"give one of {', '.join(ways)}; {found} is filled")
    if spacing_m := row.length_m("spacing"):
        return {"plants_per_m": plants_per_metre(spacing_m)}
    for column, metres in (("plants_per_bed_metre", 1.0), ("plants_per_bed_foot", FOOT.value)):
        if plants := row.above_zero(column):
            return {"plants_per_m": plants_per_metre_from_bed(plants / metres, lines)}
    row_spacing_m = row.length_m("row_spacing")
    if row_spacing_m is None or seeds_per_gram is None:
        raise row.fail("a rate needs row_spacing and seeds_per_gram too", "rate")
    rate = parse_rate(row.text("rate"))
    per_m = seeds_per_metre_from_rate(rate, seeds_per_gram.value * 1000, row_spacing_m)
    return {"seeds_per_m": per_m}
