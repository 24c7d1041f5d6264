"""Tables of the record as CSV and GeoJSON text, with every digit, and back."""

from __future__ import annotations

import csv
import io
import json
import re
from base64 import b64decode, b64encode
from collections.abc import Iterator
from typing import Any

from ..io.geopackage import from_blob, from_geojson, from_wkt, to_blob, to_wkt
from .exporttable import GEOMETRY, ExportTable

_ACTS = "=+\\-@'＝＋－＠"
_ENDS = ';,|\t\r\n"'
_ACTS_IN_A_SHEET = re.compile(rf"(\A|[{_ENDS}])(?=[{_ACTS}])|\A(?=[\t\r\n])")
_MADE_SAFE = re.compile(rf"(\A|[{_ENDS}])'(?=[{_ACTS}])|\A'(?=[\t\r\n])")
"""A spreadsheet takes a cell that begins so for a formula, and may begin a cell behind a separator
that is not ours, or behind a quotation mark or line's end within one; a ' keeps it text."""
_CSV_CELL = re.compile(r'(?:"([^"]*(?:""[^"]*)*)"|([^",\r\n]*))(,|\r\n|\r|\n|\Z)')


def csv_text(table: ExportTable) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")  # RFC 4180; and so a lone CR is quoted
    writer.writerow([c for c, _ in table.columns])
    for row in table.rows:
        writer.writerow([_cell(v, *c) for v, c in zip(row, table.columns, strict=True)])
    return out.getvalue()


def _cell(value: Any, column: str, kind: str) -> str:
    if value is None:
        return ""
    if column == GEOMETRY:
        return to_wkt(from_blob(value))
    if kind == "BLOB":
        return b64encode(value).decode("ascii")
    if isinstance(value, float):
        return repr(value)
    return _ACTS_IN_A_SHEET.sub(r"\g<0>'", value) if isinstance(value, str) else str(value)


def _from_cell(text: str, column: str, kind: str) -> Any:
    if column == GEOMETRY:
        return to_blob(from_wkt(text))
    if kind in ("TEXT", "DATE", "DATETIME"):
        return _MADE_SAFE.sub(r"\1", text)
    if text == "":
        return None
    if kind == "BLOB":
        return b64decode(text, validate=True)
    return float(text) if kind == "DOUBLE" else int(text)


def _rows(text: str) -> Iterator[list[str]]:
    """The rows of CSV text [RFC 4180]; the csv module limits cells for the whole process.

    Raises
    ------
    ValueError : a quotation mark stands inside a cell or is not closed.
    """
    at, row = 0, list[str]()
    while at < len(text):
        match = _CSV_CELL.match(text, at)
        if match is None:
            raise ValueError("a quotation mark stands where none may")
        quoted, bare, end = match.groups()
        row.append(bare if quoted is None else quoted.replace('""', '"'))
        at = match.end()
        if end != ",":
            yield row
            row = []
    if row:  # the text ends with a comma
        yield [*row, ""]


def rows_of_csv(data: bytes, table: ExportTable) -> list[tuple[Any, ...]]:
    rows = _rows(data.decode("utf-8-sig"))
    head = next(rows, [])
    if head != [c for c, _ in table.columns]:
        raise ValueError("the columns differ")
    return [
        tuple(_from_cell(v, *c) for v, c in zip(row, table.columns, strict=True)) for row in rows
    ]


def geojson_text(table: ExportTable) -> str:
    """A FeatureCollection [RFC 7946]; tables without geometry have features with a null one."""
    from shapely.geometry import mapping

    at = table.shape_at
    features = []
    for row in table.rows:
        shape = None if at is None else from_blob(row[at])
        properties = {
            column: b64encode(value).decode("ascii") if isinstance(value, bytes) else value
            for i, ((column, _), value) in enumerate(zip(table.columns, row, strict=True))
            if i != at
        }
        features.append(
            {
                "type": "Feature",
                "id": properties.pop("id"),
                "geometry": None if shape is None else mapping(shape),
                "properties": properties,
            }
        )
    body = ",\n".join(json.dumps(f, ensure_ascii=True, allow_nan=False) for f in features)
    return f'{{"type": "FeatureCollection", "features": [\n{body}\n]}}\n'


def rows_of_geojson(data: bytes, table: ExportTable) -> list[tuple[Any, ...]]:
    found = []
    for feature in json.loads(data)["features"]:
        values = {**feature["properties"], "id": feature["id"]}
        row: list[Any] = []
        for column, kind in table.columns:
            if column == GEOMETRY:
                row.append(to_blob(from_geojson(feature["geometry"])))
            elif kind == "BLOB" and values[column] is not None:
                row.append(b64decode(values[column], validate=True))
            elif kind == "DOUBLE" and values[column] is not None:
                row.append(float(values[column]))
            else:
                row.append(values[column])
        found.append(tuple(row))
    return found
