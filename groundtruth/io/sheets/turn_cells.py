"""Cells of a turn sheet: counts with the step they were read to, and instants of a watch."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from ...core.bounds import refuse_day
from ...core.errors import InputError
from ...core.language import English
from ..tally import Tally
from ..timestamps import AmbiguousDate, DateOrder, LocalTimeError, parse_instant, to_utc
from .rows import Row


def turns_of(row: Row) -> tuple[float, float]:
    """The count in a row and the step to which it was read: 0.1 for "41.5", 0.5 for "41 1/2".

    Raises
    ------
    TurnSheetError : it is no count, or can be read in two ways.
    """
    text = row.text("turns")
    plain = re.sub(r"(?<=\d) (?=\d{3}(?:\D|$))", "", text).replace("½", " 1/2")
    plain = plain.replace("¼", " 1/4").replace("¾", " 3/4").replace("−", "-").strip()
    if match := re.fullmatch(r"(?:(\d{1,9}) +)?(\d{1,3})/(\d{1,3})", plain, re.A):
        whole, over, under = int(match[1] or 0), int(match[2]), int(match[3])
        if under:
            return whole + over / under, 1 / under
    if re.fullmatch(r"[1-9]\d{0,2},\d{3}", plain, re.A):
        both = plain.replace(",", ""), plain.replace(",", ".")
        raise row.fail(
            f"turns {text!r} can be read in two ways; write {both[0]} or {both[1]}", "turns"
        )
    if match := re.fullmatch(r"(-?\d{1,12})(?:[.,](\d{1,9}))?", plain, re.A):
        return float(plain.replace(",", ".")), 10.0 ** -len(match[2] or "")
    raise row.fail(f"turns {text!r} is no number; write for example 41 or 41.5", "turns")


def strip_number_of(row: Row) -> int | None:
    """The number of the strip of the track that a row is about, None where it is about a pass."""
    match = re.fullmatch(r"strip\s*(\d{1,6})", row.text("track_pass"), re.A | re.I)
    return int(match[1]) if match else None


def pass_number_of(row: Row, *, of_track: bool = False) -> int:
    """The number of the pass that a row is about, from 1.

    Raises
    ------
    TurnSheetError : it is no whole number above 0.
    """
    column = "track_pass" if of_track else "pass"
    text = row.text(column)
    match = re.fullmatch(r"(?:pass\s*)?(\d{1,6})(?:[.,]0*)?", text, re.A | re.I)
    if not match or int(match[1]) < 1:
        said = f"pass {text!r} is no whole number" if text else "pass is empty"
        raise row.fail(f"{said}; number the passes 1, 2, 3, …", column)
    return int(match[1])


@dataclass(frozen=True, slots=True, kw_only=True)
class Watch:
    """The clock by which instants were written down.

    ``zone`` is that of times without zone, ``day`` that of times without date; None if not known.
    ``date_order`` is that of dates with slashes. Bare numbers are seconds since
    ``recording_start_s``, where that is known.
    """

    zone: ZoneInfo | None
    day: date | None
    date_order: DateOrder | None = None
    recording_start_s: float | None = None
    tally: Tally

    def instant_of(self, row: Row, column: str) -> tuple[float, float]:
        """Seconds since 1970 UTC and the step to which the instant is written.

        Raises
        ------
        TurnSheetError : it is no time, or lacks its date or zone.
        """
        text, dated = row.text(column), row.text("date")
        elapsed = re.fullmatch(r"(\d{1,6})(?:[.,](\d{1,6}))?(?: ?s(?:ec)?)?", text, re.A)
        if elapsed and self.recording_start_s is not None:
            self.tally.fact(English("times are taken as seconds since the start of the track"))
            decimals = len(elapsed[2] or "")
            seconds = float(f"{elapsed[1]}.{elapsed[2] or 0}")
            return self.recording_start_s + seconds, 10.0**-decimals
        try:
            written = parse_instant(text, self.date_order)
            if written is not None and not written.day_known and dated:
                text = f"{dated} {text}"
                written = parse_instant(text, self.date_order)
        except AmbiguousDate as why:
            raise row.fail(f"{column}: {why}", column) from None
        if written is None:
            raise row.fail(
                f"{column} {text!r} is no time; write for example 2026-04-01 08:41:07", column
            )
        if written.day_known:
            self._refuse_day(row, column, written.seconds)
        if written.remark:
            self.tally.repair(written.remark, row.line)
        seconds = written.seconds
        if not written.day_known:
            if self.day is None:
                raise row.fail(
                    f"{column} {text!r} has no date; write for example 2026-04-01 {text}", column
                )
            seconds += (self.day - date(1970, 1, 1)).days * 86400.0
        if not written.zoned:
            if self.zone is None:
                raise row.fail(
                    f"{column} {text!r} has no time zone; name the zone of the watch "
                    '(time_zone = "Europe/Oslo" in the run file, or --time-zone Europe/Oslo), or '
                    "write the offset, as in 08:41:07+02:00",
                    column,
                )
            try:
                seconds = to_utc(seconds, self.zone)
            except LocalTimeError as why:
                raise row.fail(f"{column}: {why}", column) from None
        return seconds, written.resolution_s

    @staticmethod
    def _refuse_day(row: Row, column: str, seconds: float) -> None:
        day = date(1970, 1, 1) + timedelta(days=seconds // 86400)
        try:
            refuse_day(column, day)
        except InputError as why:
            raise row.fail(why.reason, column) from None
