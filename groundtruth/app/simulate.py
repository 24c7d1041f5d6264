"""Write runs with known truth: the samples, a season, or a day of some kind."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from ..core.errors import InputError
from ..core.run import UnitSystem
from ..simulation import SCENARIOS, simulate_day, write_run, write_samples, write_season


@dataclass(frozen=True, slots=True, kw_only=True)
class SimulateRequest:
    """What to simulate into a folder; ``scenario`` names the kind of day, one of `SCENARIOS`.

    Raises
    ------
    InputError : there is no such kind of day, or the seed is below 0.
    """

    what: Literal["samples", "season", "day"]
    folder: Path
    scenario: str = ""
    seed: int = 1
    units: UnitSystem = "metric"
    overwrite: bool = False

    def __post_init__(self) -> None:
        if self.what == "day" and self.scenario not in SCENARIOS:
            raise InputError(
                f'no kind of day is called "{self.scenario}"; `groundtruth simulate --list` shows '
                "them"
            )
        if self.seed < 0:
            raise InputError(f"the seed is {self.seed}; it must be 0 or more")


def simulated_files_for(request: SimulateRequest) -> tuple[Path, ...]:
    """The run descriptions and other files that were written, to show.

    Raises
    ------
    InputError : a file is in the way, or the folder cannot be written to.
    """
    folder, seed, overwrite = request.folder, request.seed, request.overwrite
    if request.what == "samples":
        return tuple(write_samples(folder, overwrite=overwrite))
    if request.what == "season":
        return tuple(write_season(folder, seed=seed, overwrite=overwrite))
    day = simulate_day(SCENARIOS[request.scenario], seed)
    return (write_run(day, folder, units=request.units, overwrite=overwrite),)
