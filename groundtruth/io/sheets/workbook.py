"""Rows of a spreadsheet file (.xlsx, ECMA-376) as the texts that a CSV file would hold."""

from __future__ import annotations

import io
import re
import warnings
import zipfile
import zlib
from datetime import date, datetime, time, timedelta
from typing import Any

from ...core.errors import InputError
from ..files import Source

MAX_UNPACKED = 64 << 20
MAX_PARTS = 2000
MAX_ROWS, MAX_COLUMNS = 50_000, 200
_XML = (".xml", ".rels")


def workbook_rows(
    source: Source, what: str, error: type[InputError]
) -> list[tuple[str, list[tuple[int, list[str]]]]]:
    """Name and rows (number, cells) of each sheet that holds anything.

    Nothing is unpacked beyond ``MAX_UNPACKED`` bytes, and a document type declaration, which could
    expand without bound [XML 1.0, 4.4], is refused before a parser sees it.

    Raises
    ------
    error : it is no spreadsheet, is protected, holds too much, or openpyxl is not installed.
    """
    name = source.name
    try:
        _refuse_bomb(source, what, error)
    except (
        zipfile.BadZipFile,
        NotImplementedError,
        EOFError,
        zlib.error,
        OSError,
        RuntimeError,
        ValueError,
    ) as why:
        if isinstance(why, error):
            raise
        raise error(
            "is a spreadsheet file that cannot be read; save the sheet as CSV", file=name
        ) from None
    try:
        import openpyxl
    except ImportError:
        raise error(
            "is a spreadsheet file; save the sheet as CSV, or install openpyxl", file=name
        ) from None
    found = []
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of styles and extensions that are not read
            book = openpyxl.load_workbook(
                io.BytesIO(source.data), read_only=True, data_only=True, keep_links=False
            )
            for sheet in book.worksheets:
                sheet.reset_dimensions()
                rows = _rows_of(sheet, name, what, error)
                if rows:
                    found.append((sheet.title, rows))
    except error:
        raise
    except Exception:  # openpyxl raises whatever a broken part makes it stumble over
        raise error(
            "is a spreadsheet file that cannot be read; save the sheet as CSV", file=name
        ) from None
    return found


def _refuse_bomb(source: Source, what: str, error: type[InputError]) -> None:
    """Refuse archives that unpack to too much, and parts with a document type."""
    left = MAX_UNPACKED
    with zipfile.ZipFile(io.BytesIO(source.data)) as archive:
        parts = archive.infolist()
        if len(parts) > MAX_PARTS:
            raise error(f"more than {MAX_PARTS:,} parts; this is no {what}", file=source.name)
        for part in parts:
            with archive.open(part) as stream:
                data = stream.read(left + 1)
            left -= len(data)
            if left < 0:
                raise error(
                    f"unpacks to more than {MAX_UNPACKED >> 20} MB; this is no {what}",
                    file=source.name,
                )
            if part.filename.lower().endswith(_XML) and (
                b"<!" in data.replace(b"<!--", b"").replace(b"<![CDATA[", b"") or b"\0" in data
            ):
                raise error(
                    "is a spreadsheet file with a document type; save the sheet as CSV",
                    file=source.name,
                )


def _rows_of(
    sheet: Any, name: str, what: str, error: type[InputError]
) -> list[tuple[int, list[str]]]:
    rows = []
    for number, cells in enumerate(sheet.iter_rows(max_col=MAX_COLUMNS + 1), start=1):
        if number > MAX_ROWS:
            raise error(f"more than {MAX_ROWS:,} lines; this is no {what}", file=name)
        texts = [_text(cell.value, getattr(cell, "number_format", "") or "") for cell in cells]
        if any(texts) and not texts[0].startswith("#"):
            rows.append((number, texts))
    return rows


def _text(value: object, shown_as: str) -> str:
    """What a person sees in the cell: whole numbers whole, 41.0 where it is shown so, ISO times."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int | float):
        decimals = re.fullmatch(r"[#,]*0\.(0{1,6})", shown_as or "")
        plain = f"{value:.15g}"
        fixed = f"{value:.{len(decimals[1])}f}" if decimals else plain
        return fixed if float(fixed) == float(plain) else plain
    if isinstance(value, datetime):
        near = value + timedelta(milliseconds=0.5)
        value = near.replace(microsecond=near.microsecond // 1000 * 1000)
        if value.time() == time() and "h" not in shown_as.lower():
            return value.date().isoformat()
        return f"{value.date().isoformat()} {_clock(value.time(), shown_as)}"
    if isinstance(value, time):
        return _clock(value, shown_as)
    if isinstance(value, timedelta):  # a time of day beyond 24 h, or shown as a duration
        return str(timedelta(seconds=round(value.total_seconds())))
    if isinstance(value, date):
        return value.isoformat()
    return " ".join(str(value).split())


def _clock(moment: time, shown_as: str) -> str:
    if "s" not in shown_as.lower() and not moment.second and not moment.microsecond:
        return moment.isoformat("minutes")
    return moment.isoformat("milliseconds" if moment.microsecond else "seconds")
