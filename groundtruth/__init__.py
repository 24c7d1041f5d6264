"""groundtruth: the real ground covered per gear turn of ground-driven seeders.

    import groundtruth

    result = groundtruth.measure(groundtruth.read_run("run.toml"))
    print(result.ground_per_turn, result.slip)

The names below are loaded when first used, so that importing the package costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .core.errors import GroundtruthError
    from .core.measured import Measured
    from .core.result import Result
    from .core.run import Run, Sowing
    from .core.seeder import Seeder
    from .core.track import Track
    from .core.turns import TurnSheet
    from .io import read_run, read_track, read_turns
    from .measurement.measure import measure
    from .passes import find_passes

__version__ = "0.1.0"

_WHERE = {
    "GroundtruthError": "core.errors",
    "Measured": "core.measured",
    "Result": "core.result",
    "Run": "core.run",
    "Seeder": "core.seeder",
    "Sowing": "core.run",
    "Track": "core.track",
    "TurnSheet": "core.turns",
    "find_passes": "passes",
    "measure": "measurement.measure",
    "read_run": "io",
    "read_track": "io",
    "read_turns": "io",
}

__all__ = [
    "GroundtruthError",
    "Measured",
    "Result",
    "Run",
    "Seeder",
    "Sowing",
    "Track",
    "TurnSheet",
    "__version__",
    "find_passes",
    "measure",
    "read_run",
    "read_track",
    "read_turns",
]


def __getattr__(name: str) -> object:
    if name in _WHERE:
        return getattr(import_module(f".{_WHERE[name]}", __name__), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
