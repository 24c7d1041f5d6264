"""Folders of many small runs: a few simulated days, each under many names."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

from groundtruth.simulation import SCENARIOS, simulate_day, write_run

ORDINARY = SCENARIOS["ordinary phone"]
SMALL = replace(
    ORDINARY,
    field=replace(ORDINARY.field, lengths_m=(60.0, 60.0, 60.0), drive_m=None, pauses=(0, 0)),
)
"""Three passes of 60 m; measured in 0.06 s."""


def small_runs(folder: Path, names, days=4):
    """A run of each name in a folder of its own, of as many different days; their folders."""
    made = [write_run(simulate_day(SMALL, seed), folder / ".days" / f"{seed}").parent
            for seed in range(days)]  # fmt: skip
    for number, name in enumerate(names):
        place = folder / name
        place.mkdir(parents=True)
        for file in ("track.gpx", "turns.csv"):
            shutil.copy(made[number % days] / file, place)
        text = (made[number % days] / "run.toml").read_text(encoding="utf-8")
        (place / "run.toml").write_text(f'name = "{name}"\n{text}', encoding="utf-8")
    shutil.rmtree(folder / ".days")
    return [folder / name for name in names]
