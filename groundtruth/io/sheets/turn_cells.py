"""Cells of a turn sheet to counts, instants and lengths; each refusal names its line."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from ...core.errors import QuantityError, TurnSheetError
from ...core.measured import Measured
from ...core.units import parse_length_measured
from ..decoding import clean
from ..timestamps import AmbiguousDate, LocalTimeError, parse_instant, to_utc
from ..tracks.raw_fixes import Tally
from .csv_rows import Sheet


@dataclass(frozen=True, slots=True)
class Cells:
    """One sheet being read, with what is needed to understand its cells."""

    name: str
    sheet: Sheet
    columns: dict[str, int]
    tally: Tally
    zone: ZoneInfo | None
    day: date | None

    def cell(self, cells: list[str], column: str) -> str:
        index = self.columns.get(column)
        return clean(cells[index], 200) if index is not None else ""

    def fail(self, line: int, text: str) -> TurnSheetError:
        return TurnSheetError(f"{self.name}, line {line}: {text}")

    def turns(self, line: int, text: str) -> tuple[float, float]:
        """A count and the step to which it was read."""
        plain = re.sub(r"(?<=\d) (?=\d{3}(?:\D|$))", "", text).replace("½", " 1/2")
        plain = plain.replace("¼", " 1/4").replace("¾", " 3/4").replace("−", "-").strip()
        if match := re.fullmatch(r"(?:(\d{1,9}) +)?(\d{1,3})/(\d{1,3})", plain, re.A):
            whole, over, under = int(match[1] or 0), int(match[2]), int(match[3])
            if under:
                return whole + over / under, 1 / under
        if re.fullmatch(r"[1-9]\d{0,2},\d{3}", plain, re.A):
            raise self.fail(
                line,
                f"turns {text!r} can be read in two ways; write {plain.replace(',', '')} or "
                f"{plain.replace(',', '.')}",
            )
        if match := re.fullmatch(r"(-?\d{1,12})(?:[.,](\d{1,9}))?", plain, re.A):
            return float(plain.replace(",", ".")), 10.0 ** -len(match[2] or "")
        raise self.fail(line, f"turns {text!r} is no number; write for example 41 or 41.5")

    def taped(self, line: int, cells: list[str]) -> Measured | None:
        """A taped length with its limits, where one is written."""
        text = self.cell(cells, "taped")
        try:
            return parse_length_measured(text, what="taped") if text else None
        except QuantityError as why:
            raise self.fail(line, str(why)) from None

    def instant(self, line: int, cells: list[str], column: str) -> tuple[float, float]:
        """Seconds since 1970 UTC and the step to which the instant is written."""
        text = self.cell(cells, column)
        dated = self.cell(cells, "date")
        try:
            written = parse_instant(text)
            if written is not None and not written.day_known and dated:
                written = parse_instant(f"{dated} {text}")
                text = f"{dated} {text}"
        except AmbiguousDate as why:
            raise self.fail(line, f"{column}: {why}") from None
        if written is None:
            raise self.fail(
                line, f"{column} {text!r} is no time; write for example 2026-04-01 08:41:07"
            )
        if written.remark:
            self.tally.repair(written.remark, line)
        seconds = written.seconds
        if not written.day_known:
            if self.day is None:
                raise self.fail(
                    line, f"{column} {text!r} has no date; write for example 2026-04-01 {text}"
                )
            seconds += (self.day - date(1970, 1, 1)).days * 86400.0
        if not written.zoned:
            if self.zone is None:
                raise self.fail(
                    line,
                    f"{column} {text!r} has no time zone; name the zone of the watch "
                    '(time_zone = "Europe/Oslo" in the run file, or --time-zone Europe/Oslo), or '
                    "write the offset, as in 08:41:07+02:00",
                )
            try:
                seconds = to_utc(seconds, self.zone)
            except LocalTimeError as why:
                raise self.fail(line, f"{column}: {why}") from None
        return seconds, written.resolution_s
