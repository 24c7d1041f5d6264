"""Whether the table of passes still fits on the first sheet.

An estimate in lines of print on the smaller of the usual papers, Letter, with a wide typeface;
where it errs, a sheet is less full than it could be, or the cautions move to the second.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from ...core.result import Result
from ..blocks import Table
from ..sentences.measurement import (
    fact_sentences,
    repair_sentences,
    sure_sentence,
    surer_sentences,
    use_sentence,
    warning_sentences,
    watch_sentences,
)

ROOM = 28.8
"""Lines left for what varies in length, counted on a printed sheet."""
_ROW = 1.26
"""Height of a table row in lines."""
_HEADING = 3.5
_CHARACTERS = 105
"""In one line across the sheet."""
_MOST_COLUMNS = 8
"""More columns than this do not fit beside another table."""


def passes_fit(result: Result, passes: Table, *, bars: int, notices: int) -> bool:
    """Whether the table fits beside the row units and ``bars`` of the budget.

    At most ``notices`` of each kind are listed.
    """
    units = len(result.row_units) if len(result.row_units) > 1 else 0
    if units and len(passes.columns) > _MOST_COLUMNS:
        return False
    left = _HEADING + _ROW * len(passes.rows)
    right = _HEADING + 1 + bars + (_HEADING + 1 + _ROW * units if units else 0)
    above = _verdict_lines(result) + _ROW * len(result.targets)
    kinds = (warning_sentences(result), repair_sentences(result), fact_sentences(result))
    below = _notice_lines([sentences[:notices] for sentences in kinds])
    return above + max(left, right) + below <= ROOM


def _verdict_lines(result: Result) -> int:
    surer = surer_sentences(result)
    texts = (use_sentence(result), sure_sentence(result), *watch_sentences(result), *surer)
    return sum(ceil(len(text) / _CHARACTERS) for text in texts) + bool(surer)


def _notice_lines(kinds: Sequence[Sequence[str]]) -> int:
    """The longest of the lists that stand side by side."""
    shown = [kind for kind in kinds if kind]
    if not shown:
        return 0
    width = _CHARACTERS // len(shown) - 3
    return max(sum(ceil(len(t) / width) for t in kind) for kind in shown)
