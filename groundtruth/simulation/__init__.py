"""Days of sowing with known truth, from a seed: for samples, tests and benchmarks.

Knows nothing of the estimator. Plain arithmetic on random draws, described in docs/simulator.md.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..core.lazy_names import lazy_names

if TYPE_CHECKING:
    from .day import SimulatedDay as SimulatedDay
    from .day import SimulatedPass as SimulatedPass
    from .day import passes_of as passes_of
    from .day import simulate_day as simulate_day
    from .day import simulate_pass as simulate_pass
    from .motion import DrawnMotion as DrawnMotion
    from .motion import TruePass as TruePass
    from .motion import TruePath as TruePath
    from .phone import DrawnPhone as DrawnPhone
    from .samples import SAMPLES as SAMPLES
    from .samples import Sample as Sample
    from .samples import simulate_sample as simulate_sample
    from .samples import write_samples as write_samples
    from .scenario import Doppler as Doppler
    from .scenario import FieldLayout as FieldLayout
    from .scenario import Motion as Motion
    from .scenario import Phone as Phone
    from .scenario import Scenario as Scenario
    from .scenario import Wheels as Wheels
    from .scenarios import SCENARIOS as SCENARIOS
    from .season import QUIET as QUIET
    from .season import SeasonDay as SeasonDay
    from .season import SeasonPlan as SeasonPlan
    from .season import simulate_season as simulate_season
    from .season_files import beds_geojson as beds_geojson
    from .season_files import write_season as write_season
    from .wheel import TrueUnit as TrueUnit
    from .write import write_run as write_run

__getattr__, __dir__, __all__ = lazy_names(
    __name__,
    {
        "day": ["SimulatedDay", "SimulatedPass", "passes_of", "simulate_day", "simulate_pass"],
        "motion": ["DrawnMotion", "TruePass", "TruePath"],
        "phone": ["DrawnPhone"],
        "samples": ["SAMPLES", "Sample", "simulate_sample", "write_samples"],
        "scenario": [
            "Doppler",
            "FieldLayout",
            "Motion",
            "Phone",
            "Scenario",
            "Wheels",
        ],
        "scenarios": ["SCENARIOS"],
        "season": [
            "QUIET",
            "SeasonDay",
            "SeasonPlan",
            "simulate_season",
        ],
        "season_files": ["beds_geojson", "write_season"],
        "wheel": ["TrueUnit"],
        "write": ["write_run"],
    },
)
