"""groundtruth: the real ground covered per gear turn of ground-driven seeders.

    import groundtruth

    result = groundtruth.measure(groundtruth.read_run("run.toml"))
    print(result.ground_per_turn, result.slip)

Beside it stand `groundtruth.seeding` (from the figure to the setting), `groundtruth.planning`,
`groundtruth.season`, `groundtruth.simulation`, `groundtruth.io` (files in and out) and
`groundtruth.views` (maps, reports). All names are loaded when first used, so that importing the
package costs nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from .core.lazy_names import lazy_names

if TYPE_CHECKING:
    from .core.crops import Crop as Crop
    from .core.errors import GroundtruthError as GroundtruthError
    from .core.measured import Measured as Measured
    from .core.result import Result as Result
    from .core.run import Run as Run
    from .core.seeder import Seeder as Seeder
    from .core.track import Track as Track
    from .core.turns import TurnSheet as TurnSheet
    from .io import read_run as read_run
    from .io import read_track as read_track
    from .io import read_turns as read_turns
    from .measurement.measure import measure as measure
    from .measurement.slip_along import slip_along as slip_along
    from .passes import find_passes as find_passes

__version__ = "0.1.0"

__getattr__, __dir__, __all__ = lazy_names(
    __name__,
    {
        "core.crops": ["Crop"],
        "core.errors": ["GroundtruthError"],
        "core.measured": ["Measured"],
        "core.result": ["Result"],
        "core.run": ["Run"],
        "core.seeder": ["Seeder"],
        "core.track": ["Track"],
        "core.turns": ["TurnSheet"],
        "io": ["read_run", "read_track", "read_turns"],
        "measurement.measure": ["measure"],
        "measurement.slip_along": ["slip_along"],
        "passes": ["find_passes"],
    },
)
