"""Which strip of ground was sown: strips from passes, beds and blocks across days."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..core.lazy_names import lazy_names

if TYPE_CHECKING:
    from ..core.beds import Fit as Fit
    from ..core.beds import MapBed as MapBed
    from ..core.beds import SownPass as SownPass
    from .layout import lay_out as lay_out
    from .pattern import Alignment as Alignment
    from .pattern import Pattern as Pattern
    from .pattern import Trace as Trace
    from .tracker import align as align
    from .types import Bed as Bed
    from .types import Layout as Layout
    from .types import Oddity as Oddity
    from .types import Strip as Strip

__getattr__, __dir__, __all__ = lazy_names(
    __name__,
    {
        ".core.beds": ["Fit", "MapBed", "SownPass"],
        "layout": ["lay_out"],
        "pattern": ["Alignment", "Pattern", "Trace"],
        "tracker": ["align"],
        "types": ["Bed", "Layout", "Oddity", "Strip"],
    },
)
