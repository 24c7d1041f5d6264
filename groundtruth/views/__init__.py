"""All that people read: words, tables, JSON documents, maps, report, card, terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..core.lazy_names import lazy_names

if TYPE_CHECKING:
    from .card import Card as Card
    from .card import card_html as card_html
    from .card import card_text as card_text
    from .card import make_card as make_card
    from .map.run_page import field_map_html as field_map_html
    from .map.season_page import season_map_html as season_map_html
    from .report.page import report_html as report_html
    from .terminal import print_result as print_result

__getattr__, __dir__, __all__ = lazy_names(
    __name__,
    {
        "card": ["Card", "card_html", "card_text", "make_card"],
        "map.run_page": ["field_map_html"],
        "map.season_page": ["season_map_html"],
        "report.page": ["report_html"],
        "terminal": ["print_result"],
    },
)
