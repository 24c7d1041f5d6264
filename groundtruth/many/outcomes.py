"""What came of a run: its rows as they are kept, measured or not."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any, Literal

from .. import __version__
from ..core.safe_text import visible
from ..fleet.columns import MEASURED, Document, Row, failed_row, pass_rows, run_row
from .arrow import stream_of
from .inputs import RunInputs

REFUSED: Literal["refused"] = "refused"
"""The files cannot be used, or hold too little to measure from; the message says which and why."""
FAILED: Literal["failed"] = "failed"
"""A fault of ours that was not foreseen."""
ENDED: Literal["ended"] = "ended"
"""The process that measured it died each time, by itself or for its time or memory."""
Status = Literal["measured", "refused", "failed", "ended"]

MESSAGE_LENGTH = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """A run's row and those of its passes, each as one table of Arrow in bytes.

    ``season`` is the year of the run, None where its day is not known.
    """

    key: str
    source: str
    status: Status
    message: str
    season: int | None
    run: bytes
    passes: bytes


def measured(inputs: RunInputs, document: Document, seconds: float) -> Outcome:
    """The outcome of a run that has a figure."""
    row = run_row(document, run_key=inputs.key, source=inputs.source)
    passes = pass_rows(document, run_key=inputs.key)
    return _outcome(MEASURED, row | {"seconds": seconds}, passes)


def not_measured(
    key: str,
    source: str,
    status: Status,
    message: str,
    *,
    day: date | None = None,
    seconds: float | None = None,
) -> Outcome:
    """The outcome of a run that has no figure, with the reason."""
    row = failed_row(
        run_key=key,
        source=source,
        status=status,
        message=visible(message, MESSAGE_LENGTH),
        version=__version__,
    )
    return _outcome(status, row | {"date": day, "seconds": seconds}, [])


def _outcome(status: Status, row: Row, passes: list[dict[str, Any]]) -> Outcome:
    day = row["date"]
    return Outcome(
        key=row["run_key"],
        source=row["source"],
        status=status,
        message=row["message"],
        season=day and day.year,
        run=stream_of([row], "runs"),
        passes=stream_of(passes, "passes"),
    )
