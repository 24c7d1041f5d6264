"""The card as plain text, 60 characters wide: for a message or a note on the wall."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap

from ...core.display import span
from ...core.language import many, said, say
from ..sentences.cautions import cautions
from .content import Card, CardCrop

WIDTH = 60
_HEADING = 10


def card_text(card: Card) -> str:
    """The card as lines of text, ending in a line break."""
    return "\n".join(_lines(card)) + "\n"


def _lines(card: Card) -> Iterator[str]:
    yield from _wrapped(card.title)
    if card.beds:
        yield from _wrapped(say("Beds {names}", names=card.beds))
    yield say("Card of {day}", day=card.made_on)
    yield from _wrapped(card.rests_on)
    if card.alarm:
        yield ""
        yield "!" * WIDTH
        yield from _wrapped(card.alarm.upper())
        yield "!" * WIDTH
    for crop in card.crops:
        yield ""
        yield "=" * WIDTH
        yield from _crop(crop)
    yield "=" * WIDTH
    for note in card.notes:
        yield from _wrapped(note)
    yield ""
    yield say("Cautions").upper()
    for caution in cautions():
        yield from _wrapped(caution, "- ")


def _crop(crop: CardCrop) -> Iterator[str]:
    yield from _wrapped(crop.name.upper())
    yield ""
    seeds, expected = span(*crop.seeds), say("{seeds} expected", seeds=crop.expected)
    large = (
        (say("Setting"), crop.setting),
        (say("Turn"), many(int(crop.turns), "once", "{count} times")),
        (say("Seeds"), f"{seeds}   ({expected})"),
    )
    in_bed = tuple((said(what), figure) for what, figure in crop.in_bed)
    wide = max(_HEADING, *(len(what) + 2 for what, _ in (*large, *in_bed)))
    for what, figure in large:
        yield f"  {what.upper():<{wide}}{figure}"
    yield ""
    for what, figure in in_bed:
        yield from _wrapped(figure, f"  {what:<{wide - 2}}", hang=wide)
    for remark in crop.remarks:
        yield from _wrapped(remark, "  ")


def _wrapped(text: str, lead: str = "", hang: int | None = None) -> list[str]:
    indent = " " * (len(lead) if hang is None else hang)
    return wrap(text, WIDTH, initial_indent=lead, subsequent_indent=indent)
