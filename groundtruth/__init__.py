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
    from .errors import GroundtruthError
    from .measured import Measured
    from .pipeline import measure
    from .readers import read_run, read_track, read_turns
    from .result import Result
    from .run import Run, Sowing
    from .seeder import Seeder
    from .track import Track
    from .turns import TurnSheet

__version__ = "0.1.0"

_WHERE = {
    "GroundtruthError": "errors",
    "Measured": "measured",
    "Result": "result",
    "Run": "run",
    "Seeder": "seeder",
    "Sowing": "run",
    "Track": "track",
    "TurnSheet": "turns",
    "measure": "pipeline",
    "read_run": "readers",
    "read_track": "readers",
    "read_turns": "readers",
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
    "measure",
    "read_run",
    "read_track",
    "read_turns",
]


def __getattr__(name: str) -> object:
    if name in _WHERE:
        return getattr(import_module(f".{_WHERE[name]}", __name__), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
