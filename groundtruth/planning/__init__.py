"""Before going out: how many passes, how long, which way, and whether a tape is the better tool."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..core.lazy_names import lazy_names

if TYPE_CHECKING:
    from .fit_noise import fit_track as fit_track
    from .forecast import Design as Design
    from .forecast import Forecast as Forecast
    from .forecast import Forecaster as Forecaster
    from .options import Plan as Plan
    from .options import Way as Way
    from .options import make_plan as make_plan
    from .phone_kinds import KINDS as KINDS
    from .phone_kinds import NoiseSets as NoiseSets
    from .phone_kinds import kind_sets as kind_sets

__getattr__, __dir__, __all__ = lazy_names(
    __name__,
    {
        "fit_noise": ["fit_track"],
        "forecast": ["Design", "Forecast", "Forecaster"],
        "options": ["Plan", "Way", "make_plan"],
        "phone_kinds": ["KINDS", "NoiseSets", "kind_sets"],
    },
)
