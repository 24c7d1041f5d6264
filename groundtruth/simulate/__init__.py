"""Days of sowing with known truth, from a seed: for samples, tests and benchmarks.

Knows nothing of the estimator. Plain arithmetic on random draws, described in docs/simulator.md.
"""

from .day import SimulatedDay, SimulatedPass, passes_of, simulate_day, simulate_pass
from .motion import DrawnMotion, TruePass, TruePath
from .phone import DrawnPhone
from .scenario import SCENARIOS, Doppler, Field, Motion, Phone, Scenario, Wheels
from .wheel import TrueUnit
from .write import write_run

__all__ = [
    "SCENARIOS",
    "Doppler",
    "DrawnMotion",
    "DrawnPhone",
    "Field",
    "Motion",
    "Phone",
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
    "write_run",
]
