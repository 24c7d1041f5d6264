"""The lines of a table of positions: of a text file, or of a sheet of a workbook as CSV."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterator

from ...core.errors import TrackFileError
from ..decoding import WRONG_BYTE, encoding_of, latin_of
from ..files import Source
from .archive import is_zip
from .raw_fixes import NoTrackError

MAX_LINE = 20_000  # characters


def table_lines(source: Source, known: Callable[[Iterator[str]], int]) -> Iterator[str]:
    """The lines as an editor shows them, or the rows of a workbook's sheet, blank ones too.

    Of several sheets it is the one whose beginning names most fields, which ``known`` counts.

    Raises
    ------
    TrackFileError : a line is longer than any of a table, or the workbook cannot be read.
    """
    return _of_workbook(source, known) if is_zip(source.data) else _of_text(source)


def _of_text(source: Source) -> Iterator[str]:
    """The lines of a text file, bytes that are not UTF-8 read as Windows Latin."""
    encoding = encoding_of(source.data) or "utf-8"
    errors = "surrogateescape" if encoding == "utf-8" else "replace"
    text = io.TextIOWrapper(io.BytesIO(source.data), encoding, errors, newline="")
    number_of = 0
    while line := text.readline(MAX_LINE):
        number_of += 1
        if len(line) == MAX_LINE:
            raise TrackFileError(
                f"longer than {MAX_LINE} characters; this is no table of positions",
                file=source.name,
                line=number_of,
            )
        line = line.replace("\0", "")
        yield line if line.isascii() else WRONG_BYTE.sub(latin_of, line)


def _of_workbook(source: Source, known: Callable[[Iterator[str]], int]) -> Iterator[str]:
    from ..sheets.workbook import workbook_rows

    sheets = [rows for _, rows in workbook_rows(source, "table of positions", TrackFileError)]
    if not sheets:
        raise NoTrackError("the workbook is empty", file=source.name)
    return _csv_lines(max(sheets, key=lambda rows: known(_csv_lines(rows))))


def _csv_lines(rows: list[tuple[int, list[str]]]) -> Iterator[str]:
    at = 1
    for number, cells in rows:
        yield from ("\r\n" for _ in range(at, number))
        line = io.StringIO()
        csv.writer(line).writerow(cells)
        yield line.getvalue()
        at = number + 1
