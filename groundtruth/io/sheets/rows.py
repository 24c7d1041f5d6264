"""Sheets of counts and crops: rows by the names of their columns, cells as people write them.

A heading may carry the unit of its column ("length ft", "weight (g)"); a cell's own unit comes
first. Every refusal names file and line.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import partial
from types import MappingProxyType
from typing import TypeVar

from ...core.bounds import refuse_day
from ...core.errors import InputError, QuantityError, SheetError
from ...core.language import English
from ...core.measured import Measured, rectangular_std
from ...core.notices import Notice
from ...core.safe_text import clean
from ...core.track import InputFile
from ...core.units import parse_length, parse_length_measured, parse_mass
from ...core.written import number
from ..files import MAX_SHEET_BYTES, FileInput, load
from ..tally import Tally
from ..timestamps import AmbiguousDate, DateOrder, parse_instant
from .columns import sheet_columns
from .csv_rows import sheet_table
from .headings import column_of
from .layout import one_count_a_row, without_total

Q = TypeVar("Q", float, Measured)

_SMALLEST, _LARGEST = 1e-9, 1e9


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a sheet. A column that the sheet has not got reads as empty."""

    file: str
    line: int
    cells: Mapping[str, str]
    column_units: Mapping[str, str]
    error: type[SheetError] = SheetError

    def fail(self, reason: str, column: str = "") -> SheetError:
        """An error that names this line, and the column and cell that it is about."""
        cell = self.text(column) if column else ""
        return self.error(reason, file=self.file, line=self.line, column=column, cell=cell)

    def text(self, column: str) -> str:
        """The cell as one clean line, "" where empty."""
        return clean(self.cells.get(column, ""))

    def number(self, column: str) -> float | None:
        """A plain number, None where the cell is empty."""
        written = self.text(column)
        if not written:
            return None
        try:
            value = number(written)
        except ValueError:
            raise self.fail(f"{column} {written!r} is no number", column) from None
        return self._sane(column, written, value)

    def above_zero(self, column: str) -> float | None:
        """A plain number above 0, None where the cell is empty."""
        value = self.number(column)
        if value is not None and not value > 0:
            raise self.fail(f"{column} is {value:g}; it must be above 0", column)
        return value

    def share(self, column: str) -> float | None:
        """A share above 0 and up to 1, "0.85" or "85 %", None where the cell is empty."""
        written = self.text(column)
        percent = written.endswith("%")
        try:
            value = number(written.removesuffix("%")) if written else None
        except ValueError:
            raise self.fail(f"{column} {written!r} is no number", column) from None
        if value is None:
            return None
        if percent:
            value /= 100
        if not 0 < value <= 1:
            hint = f"; write {value / 100:g} for {value:g} %" if 1 < value <= 100 else ""
            raise self.fail(f"{column} is {written}; a share above 0 and up to 1{hint}", column)
        return value

    def share_with_limits(self, column: str) -> Measured | None:
        """A share that may carry its limits ("0.7 ± 0.1"), taken as an even spread."""
        written = self.text(column)
        value_text, mark, limit_text = re.sub(r"\+/?-", "±", written).partition("±")
        if not mark:
            value = self.share(column)
            return None if value is None else Measured(value)
        parts = [replace(self, cells={column: text}) for text in (value_text, limit_text)]
        value, limit = (part.share(column) for part in parts)
        if value is None or limit is None or limit >= value:
            raise self.fail(f"{column} is {written}; write a share as in 0.7 ± 0.1", column)
        return Measured(value, rectangular_std(limit))

    def with_limits(self, column: str) -> Measured | None:
        """A number above 0 that may carry its limits ("55 ± 3"), taken as an even spread."""
        written = self.text(column)
        if not written:
            return None
        parts = re.split(r"±|\+/?-", written)
        try:
            value, limit = number(parts[0]), number(parts[1]) if len(parts) > 1 else 0.0
        except ValueError:
            raise self.fail(
                f"{column} {written!r} is no number; write for example 55 ± 3", column
            ) from None
        if len(parts) > 2 or not value > 0 or not 0 <= limit < value:
            raise self.fail(
                f"{column} is {written}; write a number above 0, for example 55 ± 3", column
            )
        return Measured(self._sane(column, written, value), rectangular_std(limit))

    def length_m(self, column: str) -> float | None:
        """A length above 0 in metres, None where the cell is empty."""
        return self._quantity(column, partial(parse_length, above_zero=True))

    def measured_length(self, column: str) -> Measured | None:
        """A length above 0 in metres that may carry its limits, None where the cell is empty."""
        return self._quantity(column, parse_length_measured)

    def mass_kg(self, column: str) -> float | None:
        """A mass above 0 in kilograms, None where the cell is empty."""
        return self._quantity(column, partial(parse_mass, above_zero=True))

    def day(self, column: str, order: DateOrder | None = None) -> date | None:
        """A day, None where the cell is empty; written as the sheets of turns may write it."""
        written = self.text(column)
        if not written:
            return None
        try:
            instant = parse_instant(f"{written} 00:00", order)
        except AmbiguousDate as why:
            raise self.fail(f"{column}: {why}", column) from None
        if instant is None or not instant.day_known:
            raise self.fail(
                f"{column} {written!r} is no day; write year, month and day as in 2026-05-12",
                column,
            )
        day = date(1970, 1, 1) + timedelta(days=instant.seconds // 86400)
        try:
            refuse_day(column, day)
        except InputError as why:
            raise self.fail(why.reason, column) from None
        return day

    def _sane(self, column: str, written: str, value: float) -> float:
        """Refuse what no field or bench holds, so that no sum behind can overflow."""
        if value and not _SMALLEST <= abs(value) <= _LARGEST:
            size = "large" if abs(value) > 1 else "small"
            raise self.fail(f"{column} is {written}; that is too {size} to be true", column)
        return value

    def _quantity(self, column: str, parse: Callable[..., Q]) -> Q | None:
        written = self.text(column)
        if not written:
            return None
        if re.fullmatch(r"[\d.,\s]+", written) and (unit := self.column_units.get(column)):
            written = f"{written} {unit}"
        try:
            found = parse(written, what=column)
        except QuantityError as why:
            raise self.fail(why.reason, column) from None
        self._sane(column, written, found.value if isinstance(found, Measured) else found)
        return found


@dataclass(frozen=True, slots=True, kw_only=True)
class Rows:
    """All rows of a sheet, the file they come from, and what was noticed.

    ``remarks`` are the lines with something in a column of remarks, which their column "note" has.
    """

    rows: tuple[Row, ...]
    remarks: tuple[Row, ...] = ()
    file: InputFile
    header_line: int
    columns: frozenset[str]
    notices: tuple[Notice, ...] = ()

    def __iter__(self) -> Iterator[Row]:
        return iter(self.rows)


def read_rows(
    sheet: FileInput,
    *,
    what: str,
    required: Sequence[str] = (),
    optional: Sequence[str] = (),
    also: Mapping[str, str] = MappingProxyType({}),
    units: Mapping[str, str] = MappingProxyType({}),
    shape: str = "",
    spread: tuple[str, str] | None = None,
    error: type[SheetError] = SheetError,
) -> Rows:
    """The rows of a sheet with these columns; ``also`` maps other headings to them.

    ``units`` are those of bare numbers in a column whose heading names none. ``shape`` is how
    messages write the header; the required columns where it is not given. ``spread`` names a column
    of counts and that of their labels: without the former, a column for each label serves. Title
    lines and a total row are left out.

    Raises
    ------
    error : the file cannot be read, a required column is missing, or a heading is a near miss of
        a known one.
    """
    source = load(sheet, error=error, what=what, limit=MAX_SHEET_BYTES)
    known = [*required, *optional]
    table = sheet_table(
        source,
        what,
        error,
        lambda head: len({column_of(one, known, also)[0] for one in head} - {""}),
    )
    shape = shape or ",".join(required)
    tally = Tally(source.name, "line")
    if table.remark:
        tally.repair(table.remark, table.remark_line)
    if table.above:
        tally.repair(English("lines above the header left out"), table.above)
    columns = sheet_columns(table, source.name, known, required, also, shape, spread, tally, error)
    body, totals = without_total(table.rows, columns.counts(spread), columns.key(known[0]))
    if totals:
        tally.repair(English("total row left out"), totals[0], len(totals))
    cells = [(line, {name: row[i] for name, i in columns.place.items()}, row) for line, row in body]
    named = [(line, of_row) for line, of_row, _ in cells]
    if columns.spread and spread:
        named = one_count_a_row(cells, columns.spread, *spread)

    def as_row(line: int, one: Mapping[str, str]) -> Row:
        return Row(source.name, line, one, {**units, **columns.units}, error)

    rows = tuple(as_row(line, one) for line, one in named)
    remarks = ((c, "; ".join(c[2][i] for i in columns.remarks if c[2][i].strip())) for c in cells)
    if not rows:
        raise error("no line below the header", file=source.name)
    return Rows(
        rows=rows,
        remarks=tuple(as_row(c[0], {**c[1], "note": said}) for c, said in remarks if said),
        file=source.file,
        header_line=table.header_line,
        columns=frozenset(columns.place) | (frozenset(spread or ()) if columns.spread else set()),
        notices=tally.notices(),
    )
