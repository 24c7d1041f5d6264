"""Which strip of ground was sown: strips from passes, beds and blocks across days."""

from .align import align
from .contract import Bed, Fit, Layout, MapBed, Oddity, SownPass, Strip
from .layout import lay_out
from .pattern import Alignment, Pattern, Trace

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
