"""Rows of a sheet as spreadsheets and people write them: any encoding, separator, quoting."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass

from ...core.errors import InputError
from ..decoding import decode

MAX_LINES = 200_000
MAX_CELL = 2000


@dataclass(frozen=True, slots=True)
class Sheet:
    """Header and rows; ``rows`` are (line number, cells), blank and comment lines left out."""

    header_line: int
    header: list[str]
    rows: list[tuple[int, list[str]]]
    separator: str
    remark: str


def read_sheet(data: bytes, name: str, error: type[InputError]) -> Sheet:
    """The sheet in ``data``; lines count from 1 as an editor shows them.

    Raises
    ------
    error : there is no header, or a row is longer than the header or does not end.
    """
    text, remark = decode(data)
    if "\0" in text:
        raise error(f"{name}: is no text; save the sheet as CSV")
    lines = text.splitlines()
    if len(lines) > MAX_LINES:
        raise error(f"{name}: more than {MAX_LINES:,} lines; this is no sheet of turns")
    skip = 0
    separator = ""
    while skip < len(lines) and _blank(lines[skip]):
        skip += 1
    if skip < len(lines) and (told := re.fullmatch(r"\s*sep=(.)\s*", lines[skip])):
        separator, skip = told[1], skip + 1
        while skip < len(lines) and _blank(lines[skip]):
            skip += 1
    if skip >= len(lines):
        raise error(f"{name}: the sheet is empty")
    separator = separator or _separator(lines[skip])
    rows = list(_rows(lines, skip, separator, name, error))
    if not rows:
        raise error(f"{name}: the sheet is empty")
    (header_line, header), body = rows[0], rows[1:]
    while header and not header[-1]:
        header.pop()
    for line, cells in body:
        if any(cells[len(header) :]):
            hint = (
                "; a decimal comma needs quotes here, or semicolons between the columns"
                if separator == ","
                else ""
            )
            raise error(
                f"{name}, line {line}: {len(cells)} cells under {len(header)} headings{hint}"
            )
    width = len(header)
    body = [(line, (cells + [""] * width)[:width]) for line, cells in body]
    return Sheet(header_line, header, body, separator, remark)


def _blank(line: str) -> bool:
    return not line.strip(" \t;,\ufeff") or line.lstrip().startswith("#")


def _separator(header: str) -> str:
    bare = re.sub(r'"[^"]*"', "", header)
    counts = {mark: bare.count(mark) for mark in "\t;|,"}
    best = max(counts, key=lambda mark: counts[mark])
    return best if counts[best] else ","


def _rows(
    lines: list[str], skip: int, separator: str, name: str, error: type[InputError]
) -> Iterator[tuple[int, list[str]]]:
    reader = csv.reader((line + "\n" for line in lines[skip:]), delimiter=separator, strict=True)
    before = 0
    try:
        for cells in reader:
            line = skip + before + 1
            before = reader.line_num
            if before > line - skip + 20:
                raise error(f"{name}, line {line}: a quotation mark is not closed")
            cells = [" ".join(cell.split()) for cell in cells]
            if any(cells) and not cells[0].startswith("#"):
                if max(map(len, cells)) > MAX_CELL:
                    raise error(f"{name}, line {line}: a cell of more than {MAX_CELL} characters")
                yield line, cells
    except csv.Error as why:
        text = "a quotation mark is not closed or stands inside a cell"
        if "limit" in str(why):
            text = "a cell is too long"
        raise error(f"{name}, line {skip + before + 1}: {text}") from None
