"""Days of sowing with known truth, from a seed: for samples, tests and benchmarks.

Knows nothing of the estimator. Plain arithmetic on random draws, described in docs/simulator.md.
"""

from .day import SimulatedDay, SimulatedPass, passes_of, simulate_day, simulate_pass
from .motion import DrawnMotion, TruePass, TruePath
from .phone import DrawnPhone
from .samples import SAMPLES, Sample, simulate_sample, write_samples
from .scenario import SCENARIOS, Doppler, Field, Motion, Phone, Scenario, Wheels
from .season import QUIET, SeasonDay, SeasonPlan, beds_geojson, simulate_season, write_season
from .wheel import TrueUnit
from .write import write_run

__all__ = [
    "QUIET",
    "SAMPLES",
    "SCENARIOS",
    "Doppler",
    "DrawnMotion",
    "DrawnPhone",
    "Field",
    "Motion",
    "Phone",
    "Sample",
    "Scenario",
    "SeasonDay",
    "SeasonPlan",
    "SimulatedDay",
    "SimulatedPass",
    "TruePass",
    "TruePath",
    "TrueUnit",
    "Wheels",
    "beds_geojson",
    "passes_of",
    "simulate_day",
    "simulate_pass",
    "simulate_sample",
    "simulate_season",
    "write_run",
    "write_samples",
    "write_season",
]
