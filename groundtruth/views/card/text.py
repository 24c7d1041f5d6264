"""The card as plain text, 60 characters wide: for a message or a note on the wall."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap

from ..sentences.cautions import CAUTIONS
from .content import Card, CardCrop

WIDTH = 60


def card_text(card: Card) -> str:
    """The card as lines of text, ending in a line break."""
    return "\n".join(_lines(card)) + "\n"


def _lines(card: Card) -> Iterator[str]:
    yield card.title
    yield f"Card of {card.made_on}"
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
    yield "CAUTIONS"
    for caution in CAUTIONS:
        yield from _wrapped(caution, "- ")


def _crop(crop: CardCrop) -> Iterator[str]:
    yield from _wrapped(crop.name.upper())
    yield ""
    yield f"  SETTING   {crop.setting}"
    yield f"  TURN      {crop.turns} times"
    yield f"  SEEDS     {crop.seeds[0]} to {crop.seeds[1]}   ({crop.expected} expected)"
    yield ""
    for what, figure in crop.in_bed:
        yield from _wrapped(figure, f"  {what:<8}", hang=10)
    for remark in crop.remarks:
        yield from _wrapped(remark, "  ")


def _wrapped(text: str, lead: str = "", hang: int | None = None) -> list[str]:
    indent = " " * (len(lead) if hang is None else hang)
    return wrap(text, WIDTH, initial_indent=lead, subsequent_indent=indent)
