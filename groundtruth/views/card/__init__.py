"""The card for the grower's pocket: one sheet that says, crop by crop, what to set and to count."""

from .content import Card, CardCrop, make_card
from .html import card_html
from .text import card_text

__all__ = ["Card", "CardCrop", "card_html", "card_text", "make_card"]
