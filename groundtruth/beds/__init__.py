"""Which strip of ground was sown: strips from passes, beds and blocks across days."""

from ..core.beds import Fit, MapBed, SownPass
from .layout import lay_out
from .pattern import Alignment, Pattern, Trace
from .tracker import align
from .types import Bed, Layout, Oddity, Strip

__all__ = [
    "Alignment",
    "Bed",
    "Fit",
    "Layout",
    "MapBed",
    "Oddity",
    "Pattern",
    "SownPass",
    "Strip",
    "Trace",
    "align",
    "lay_out",
]
