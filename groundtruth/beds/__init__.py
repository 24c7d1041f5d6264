"""Which bed each pass was sown on, over the days of a season: assignments, strips, anomalies."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..core.lazy_names import lazy_names

if TYPE_CHECKING:
    from ..core.beds import BedAssignment as BedAssignment
    from ..core.beds import BlockBed as BlockBed
    from ..core.beds import MapBed as MapBed
    from ..core.beds import SownPass as SownPass
    from .layout import lay_out as lay_out
    from .tracker import assign_day as assign_day
    from .types import Anomaly as Anomaly
    from .types import AnomalyKind as AnomalyKind
    from .types import AssignmentHypothesis as AssignmentHypothesis
    from .types import BlockPrior as BlockPrior
    from .types import DayPosterior as DayPosterior
    from .types import Layout as Layout
    from .types import PassObservation as PassObservation
    from .types import PassReference as PassReference
    from .types import Strip as Strip

__getattr__, __dir__, __all__ = lazy_names(
    __name__,
    {
        ".core.beds": ["BedAssignment", "BlockBed", "MapBed", "SownPass"],
        "layout": ["lay_out"],
        "tracker": ["assign_day"],
        "types": [
            "Anomaly",
            "AnomalyKind",
            "AssignmentHypothesis",
            "BlockPrior",
            "DayPosterior",
            "Layout",
            "PassObservation",
            "PassReference",
            "Strip",
        ],
    },
)
