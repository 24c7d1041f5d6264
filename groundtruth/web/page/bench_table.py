"""The catches typed at the bench as a sheet, counted or weighed, of one seed lot or several."""

from __future__ import annotations

import csv
import re
from io import StringIO
from typing import Any

from ...app.crops import CropsRequest
from ...app.typed_run import share_typed, with_unit
from ...core.errors import InputError
from ...core.run import UnitSystem
from ...core.safe_text import clean
from ...io.files import Source
from .asked import flag, list_of, table, text

Json = dict[str, Any]
_SMALL = {"metric": "cm", "us": "in"}
_MOST_ROWS = 500


def bench_typed(asked: Json) -> tuple[Source, tuple[str, ...]]:
    """The sheet of the typed catches, and their seed lots, none where they are not told apart.

    A weighed catch takes the weight of a thousand seeds from its own line or one above.

    Raises
    ------
    InputError : a weight of a thousand seeds is missing, or none.
    """
    weighed, by_lot = flag(asked, "weighed"), flag(asked, "by_lot")
    lots: dict[str, None] = {}
    rows: list[dict[str, str]] = []
    thousand = lot = ""
    for typed in map(table, list_of(asked, "rows", _MOST_ROWS)):
        row = {key: text(typed, key) for key in ("setting", "turns", "seeds", "weight")}
        thousand = text(typed, "thousand").strip() or thousand
        lot = text(typed, "lot").strip() or lot
        if not row["weight" if weighed else "seeds"].strip():
            continue
        row["crop"] = text(asked, "crop")
        if by_lot:
            row["seed_lot"] = clean(lot)
            lots[row["seed_lot"]] = None
        if weighed:
            row["seeds_per_gram"] = seeds_per_gram(thousand)
        rows.append(row)
    columns = ("crop", *(("seed_lot",) if by_lot else ()), "setting", "turns")
    caught = ("seeds_per_gram", "weight") if weighed else ("seeds",)
    found = tuple(lots) if by_lot and set(lots) != {""} else ()
    return sheet_typed("bench.csv", {"rows": rows}, (*columns, *caught)), found


def seeds_per_gram(thousand: str) -> str:
    """Seeds per gram by the weight of a thousand seeds in grams, with its limits where it has any.

    Raises
    ------
    InputError : it is no weight.

    >>> seeds_per_gram("16 ± 0.8")
    '62.5 ± 3.125'
    """
    parts = re.sub(r"\+/?-", "±", thousand.replace(",", ".")).replace("g", "").split("±")
    try:
        grams, limit = float(parts[0]), float(parts[1]) if len(parts) > 1 else 0.0
    except ValueError:
        grams = limit = 0.0
    if len(parts) > 2 or not 0 <= limit < grams < 1e6 or not grams > 1e-6:
        raise InputError(
            f"thousand-seed weight {clean(thousand, 40)!r}: write grams, as 17.2 or 17.2 ± 0.5",
            column="thousand",
        )
    limits = f" ± {1000 / grams * limit / grams:.6g}" if limit else ""
    return f"{1000 / grams:.6g}{limits}"


def crops_by_lot(asked: Json, units: UnitSystem, lots: tuple[str, ...]) -> CropsRequest:
    """The crop once for each of its seed lots."""
    spacing = with_unit(text(asked, "spacing"), _SMALL[units])
    row = {"crop": text(asked, "crop"), "spacing": spacing}
    if not clean(row["crop"]):
        raise InputError("crop: name it, to tell its seed lots apart", column="crop")
    for key in ("germination", "field_emergence"):
        written = text(asked, key).strip()
        row[key] = f"{share_typed(key, written):.12g}" if written else "1"
    rows = [{**row, "seed_lot": lot} for lot in lots]
    columns = ("seed_lot", "crop", "germination", "field_emergence", "spacing")
    return CropsRequest(sheet=sheet_typed("crops.csv", {"rows": rows}, columns))


def number_typed(asked: Json, key: str) -> float:
    """A plain number above 0.

    Raises
    ------
    InputError : it is none.
    """
    try:
        number = float(text(asked, key).strip().replace(",", "."))
    except ValueError:
        raise InputError(f"{key.replace('_', ' ')}: write a plain number", column=key) from None
    if not 0 < number < 1e9:
        raise InputError(f"{key.replace('_', ' ')}: must be above 0", column=key)
    return number


def sheet_typed(name: str, asked: Json, columns: tuple[str, ...]) -> Source:
    """Typed rows as a sheet, those left out that hold nothing."""
    out = StringIO()
    rows = csv.writer(out, lineterminator="\n")
    rows.writerow(columns)
    for one in map(table, list_of(asked, "rows", 500)):
        cells = [" ".join(text(one, key).split()) for key in columns]
        if cells[-1]:
            rows.writerow(cells)
    return Source(name, out.getvalue().encode("utf-8", "replace"))
