"""A result for people: the answer first, then what it rests on."""

from __future__ import annotations

from collections.abc import Iterator

from ..core.display import day_text
from ..core.language import say
from ..core.result import Result
from ..core.safe_text import visible
from .blocks import Block, Sentences
from .sentences.answer import answer_of
from .sentences.measurement import (
    fact_sentences,
    repair_sentences,
    sure_sentence,
    surer_sentences,
    use_sentence,
    warning_sentences,
    watch_sentences,
)
from .sentences.with_fleet import with_fleet_sentences
from .tables.result import passes_by_unit_table, row_units_table
from .tables.targets import targets_table


def result_blocks(result: Result) -> Iterator[Block]:
    """What is shown, in order. No text holds a control character."""
    title = f"{visible(result.run_name, 60)}, {day_text(result.date)}"
    yield Sentences(title=title, sentences=answer_of(result).sentences, strong=1)
    yield passes_by_unit_table(result)
    if len(result.row_units) > 1:
        yield row_units_table(result)
    if result.targets and result.is_credible:
        yield targets_table(result.targets, result.units)
    verdict = (use_sentence(result), sure_sentence(result))
    yield Sentences(title=say("Verdict"), sentences=verdict, strong=1)
    fleet = with_fleet_sentences(result)
    for title, sentences, warning in (
        (say("With what the fleet knows"), fleet, False),
        (say("Look at this"), watch_sentences(result), True),
        (say("What would make it surer"), surer_sentences(result), False),
        (say("Warnings"), warning_sentences(result), True),
        (say("Repaired in the input"), repair_sentences(result), False),
        (say("Good to know"), fact_sentences(result), False),
    ):
        if sentences:
            yield Sentences(title=title, sentences=sentences, warning=warning)
