"""Before going out: how many passes, how long, which way, and whether a tape is the better tool."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..core.lazy_names import lazy_names

if TYPE_CHECKING:
    from .design import Design as Design
    from .fit_noise import noise_from_track as noise_from_track
    from .forecast import Forecast as Forecast
    from .forecast import Forecaster as Forecaster
    from .options import Plan as Plan
    from .options import Way as Way
    from .options import make_plan as make_plan
    from .phone_kinds import KINDS as KINDS
    from .phone_kinds import NoiseEnsemble as NoiseEnsemble
    from .phone_kinds import noise_of_kind as noise_of_kind

__getattr__, __dir__, __all__ = lazy_names(
    __name__,
    {
        "design": ["Design"],
        "fit_noise": ["noise_from_track"],
        "forecast": ["Forecast", "Forecaster"],
        "options": ["Plan", "Way", "make_plan"],
        "phone_kinds": ["KINDS", "NoiseEnsemble", "noise_of_kind"],
    },
)
