"""The sheet of bench counts: `crop,seed_lot,setting,turns,seeds`, or `grams` instead of seeds."""

from __future__ import annotations

from dataclasses import dataclass

from ...core.counts import BenchCount, weighed_seeds
from ...core.errors import InputError
from ...core.measured import Measured, triangular_std
from ...core.notices import Notice
from ...core.track import InputFile
from ..files import FileInput
from .alike import alike_notices
from .rows import Row, Rows, read_rows

MAX_SETTINGS = 1000
"""Of all crops and lots of a sheet; a farm has some dozens."""
COLUMNS = (
    "setting",
    "turns",
    "crop",
    "seed_lot",
    "seeds",
    "weight",
    "seeds_per_gram",
    "seconds",
    "turns_per_minute",
    "unit",
)
_ALSO = {
    "lot": "seed_lot",
    "hole": "setting",
    "step": "setting",
    "gear_turns": "turns",
    "count": "seeds",
    "grams": "weight",
    "rpm": "turns_per_minute",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """All catches of a sheet."""

    counts: tuple[BenchCount, ...]
    file: InputFile
    notices: tuple[Notice, ...] = ()

    @property
    def lots(self) -> tuple[tuple[str, str], ...]:
        """(crop, seed lot) pairs in order of first appearance."""
        return tuple(dict.fromkeys((c.crop, c.seed_lot) for c in self.counts))

    def of(self, crop: str, seed_lot: str = "") -> tuple[BenchCount, ...]:
        """The catches of one crop, and of one lot where a lot is named; capitals do not matter."""
        return tuple(
            c
            for c in self.counts
            if c.crop.casefold() == crop.casefold()
            and (not seed_lot or c.seed_lot.casefold() == seed_lot.casefold())
        )


def read_bench(sheet: FileInput) -> Bench:
    """The catches in a sheet.

    Raises
    ------
    SheetError : the sheet cannot be read, or a line holds no usable catch; the message names it.
    """
    rows = read_rows(
        sheet,
        what="bench sheet",
        required=COLUMNS[:2],
        optional=COLUMNS[2:],
        also=_ALSO,
        units={"weight": "g"},
        spread=("seeds", "unit"),
    )
    if not rows.columns & {"seeds", "weight"}:
        raise rows.rows[0].fail("no column seeds or grams; write what was caught")
    counts = tuple(_catch(row, rows) for row in rows)
    settings = {(c.crop, c.seed_lot, c.setting): c for c in counts}
    if len(settings) > MAX_SETTINGS:
        raise list(rows)[-1].fail(
            f"{len(settings)} settings of crops; up to {MAX_SETTINGS} of a sheet are read"
        )
    return Bench(
        counts=counts,
        file=rows.file,
        notices=(*rows.notices, *alike_notices(rows, "crop", "seed_lot", "setting")),
    )


def _catch(row: Row, rows: Rows) -> BenchCount:
    turns = row.number("turns")
    if turns is None:
        raise row.fail("turns is empty; write how often the gear was turned", "turns")
    seeds, shared = _seeds(row)
    per_minute = row.above_zero("turns_per_minute")
    seconds = row.above_zero("seconds")
    try:
        return BenchCount(
            crop=row.text("crop"),
            seed_lot=row.text("seed_lot"),
            setting=row.text("setting"),
            turns=turns,
            seeds=seeds,
            shared_relative=shared,
            turns_per_minute=per_minute or (60 * turns / seconds if seconds else None),
            line=row.line,
        )
    except InputError as why:
        raise row.fail(why.reason, why.column) from None


def _seeds(row: Row) -> tuple[Measured, float]:
    """Seeds of a catch, counted or weighed, and the relative error it shares with others."""
    counted, written = row.number("seeds"), row.text("weight")
    if counted is not None:
        if counted < 0:
            raise row.fail(f"seeds is {counted:g}; a catch cannot hold less than 0", "seeds")
        return Measured(counted), 0.0
    if not written:
        raise row.fail("neither seeds nor grams; write what was caught")
    per_gram = row.with_limits("seeds_per_gram")
    if per_gram is None:
        raise row.fail(
            "grams without seeds_per_gram; the seed bag or a counted gram tells it",
            "seeds_per_gram",
        )
    mass_kg = row.mass_kg("weight")
    assert mass_kg is not None  # the cell is not empty
    # A tared scale is read twice, each time to its last digit [JCGM 100:2008, 4.3.9].
    digits = len(written.replace(",", ".").partition(".")[2].split(" ")[0])
    step_kg = 10.0**-digits * (mass_kg / _plain(written) if _plain(written) else 0.001)
    return weighed_seeds(mass_kg, triangular_std(step_kg), per_gram.scaled(1000))


def _plain(written: str) -> float:
    """The bare number at the start of a written mass."""
    head = written.replace(",", ".").split(" ")[0].rstrip("abcdefghijklmnopqrstuvwxyz")
    try:
        return float(head)
    except ValueError:
        return 0.0
