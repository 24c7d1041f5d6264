"""Rows of a sheet as spreadsheets and people write them: any encoding, separator, quoting."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from ...core.errors import SheetError
from ..decoding import decode, first_wrong_line
from ..files import Source
from .layout import LOOKED_AT, header_place

MAX_LINES = 50_000
MAX_CELL = 2000
MAX_COLUMNS = 200
MAX_HEADER = 20_000


@dataclass(frozen=True, slots=True)
class SheetTable:
    """Header and rows; ``rows`` are (line number, cells), blank and comment lines left out.

    ``remark`` says what had to be repaired in the encoding, from ``remark_line`` on; ``above`` is
    the first of the lines above the header that were passed over, 0 for none.
    """

    header_line: int
    header: list[str]
    rows: list[tuple[int, list[str]]]
    remark: str
    remark_line: int
    above: int = 0


def sheet_table(
    source: Source, what: str, error: type[SheetError], known: Callable[[list[str]], int]
) -> SheetTable:
    """The table in a sheet, CSV or .xlsx; lines count from 1 as an editor shows them.

    ``known`` says how many columns a line of headings names.

    Raises
    ------
    error : it is no ``what`` as CSV, has no header, or a row is longer than the header or does
        not end.
    """
    name, data = source.name, source.data
    if data.startswith(b"PK\x03\x04"):
        return _of_workbook(source, what, error, known)
    if data.startswith(b"\xd0\xcf\x11\xe0"):
        raise error("is an old spreadsheet file; save the sheet as .xlsx or CSV", file=name)
    if data.lstrip()[:1] == b"<":
        raise error(f"is a track or a page, not a {what}, which is a CSV file", file=name)
    text, remark = decode(data)
    if "\0" in text:
        raise error("is no text; save the sheet as CSV", file=name)
    lines = text.splitlines()
    if len(lines) > MAX_LINES:
        raise error(f"more than {MAX_LINES:,} lines; this is no {what}", file=name)
    skip = 0
    separator = ""
    while skip < len(lines) and _blank(lines[skip]):
        skip += 1
    if skip < len(lines) and (told := re.fullmatch(r"\s*sep=(.)\s*", lines[skip])):
        separator, skip = told[1], skip + 1
    top = [at for at in range(skip, len(lines)) if not _blank(lines[at])][:LOOKED_AT]
    if not top:
        raise error("the sheet is empty", file=name)
    heads = [_split(lines[at], separator or _separator(lines[at])) for at in top]
    skip = top[header_place(heads, known)]
    separator = separator or _separator(lines[skip])
    rows = list(_rows(lines, skip, separator, name, error))
    if not rows:
        raise error("the sheet is empty", file=name)
    wrong = first_wrong_line(data) if remark else 0
    above = top[0] + 1 if top[0] < skip else 0
    return _table(rows, above, (remark, wrong), separator, source, what, error)


def _table(
    rows: list[tuple[int, list[str]]],
    above: int,
    remark: tuple[str, int],
    separator: str,
    source: Source,
    what: str,
    error: type[SheetError],
) -> SheetTable:
    """Header and rows of one width. ``above`` is the first line above the header, 0 for none."""
    name = source.name
    (header_line, header), body = rows[0], rows[1:]
    while header and not header[-1]:
        header.pop()
    if len(header) > MAX_COLUMNS:
        raise error(
            f"{len(header)} columns; this is no {what}, which has up to {MAX_COLUMNS}",
            file=name,
            line=header_line,
        )
    for line, cells in body:
        if any(cells[len(header) :]):
            hint = (
                "; a decimal comma needs quotes here, or semicolons between the columns"
                if separator == ","
                else ""
            )
            raise error(
                f"{len(cells)} cells under {len(header)} headings{hint}", file=name, line=line
            )
    width = len(header)
    body = [(line, (cells + [""] * width)[:width]) for line, cells in body]
    return SheetTable(header_line, header, body, *remark, above)


def _of_workbook(
    source: Source, what: str, error: type[SheetError], known: Callable[[list[str]], int]
) -> SheetTable:
    """The table of the sheet whose header knows most columns."""
    from .workbook import workbook_rows

    sheets = [rows for _, rows in workbook_rows(source, what, error)]
    if not sheets:
        raise error("the sheet is empty", file=source.name)
    heads = [[cells for _, cells in rows[:LOOKED_AT]] for rows in sheets]
    places = [header_place(head, known) for head in heads]
    best = max(range(len(sheets)), key=lambda i: (known(heads[i][places[i]]), -i))
    rows, at = sheets[best], places[best]
    above = rows[0][0] if at else 0
    return _table(rows[at:], above, ("", 0), "", source, what, error)


def _split(line: str, separator: str) -> list[str]:
    return next(csv.reader([line[:MAX_HEADER]], delimiter=separator), [])


def _blank(line: str) -> bool:
    return not line.strip(" \t;,\ufeff") or line.lstrip().startswith("#")


def _separator(header: str) -> str:
    bare = re.sub(r'"[^"]*"', "", header)
    counts = {mark: bare.count(mark) for mark in "\t;|,"}
    best = max(counts, key=lambda mark: counts[mark])
    return best if counts[best] else ","


def _rows(
    lines: list[str], skip: int, separator: str, name: str, error: type[SheetError]
) -> Iterator[tuple[int, list[str]]]:
    reader = csv.reader((line + "\n" for line in lines[skip:]), delimiter=separator, strict=True)
    before = 0
    try:
        for cells in reader:
            line = skip + before + 1
            before = reader.line_num
            if before > line - skip + 20:
                raise error("a quotation mark is not closed", file=name, line=line)
            cells = [" ".join(cell.split()) for cell in cells]
            if any(cells) and not cells[0].startswith("#"):
                if max(map(len, cells)) > MAX_CELL:
                    reason = f"a cell of more than {MAX_CELL} characters"
                    raise error(reason, file=name, line=line)
                yield line, cells
    except csv.Error as why:
        text = "a quotation mark is not closed or stands inside a cell"
        if "limit" in str(why):
            text = "a cell is too long"
        raise error(text, file=name, line=skip + before + 1) from None
