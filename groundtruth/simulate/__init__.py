"""Days of sowing with known truth, from a seed: for samples, tests and benchmarks.

Knows nothing of the estimator. Plain arithmetic on random draws, described in docs/simulator.md.
"""

from .day import SimulatedDay, SimulatedPass, passes_of, simulate_day, simulate_pass
from .motion import DrawnMotion, TruePass, TruePath
from .phone import DrawnPhone
from .samples import SAMPLES, Sample, simulate_sample, write_samples
from .scenario import SCENARIOS, Doppler, Field, Motion, Phone, Scenario, Wheels
from .wheel import TrueUnit
from .write import write_run

__all__ = [
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
    "SimulatedDay",
    "SimulatedPass",
    "TruePass",
    "TruePath",
    "TrueUnit",
    "Wheels",
    "passes_of",
    "simulate_day",
    "simulate_pass",
    "simulate_sample",
    "write_run",
    "write_samples",
]
