"""The figure of a real tractor's run, beside chord over turns and Doppler speed over turns."""

from __future__ import annotations

from pathlib import Path

import numpy as np

import groundtruth
from groundtruth.core.plane import plane_about
from groundtruth.core.run import Run

from .page import markdown_table

TRACKS = {"positions only": "track.csv", "with reported speeds": "track-with-speed.csv"}


def tractor_table(folder: Path) -> str:
    """Metres a counted turn of a run folder with instants in its sheet, as Markdown."""
    run = groundtruth.read_run(folder / "run.toml")
    rows = []
    for about, name in TRACKS.items():
        track = groundtruth.read_track(folder / name)
        plane = plane_about(track)
        east, north = plane.to_metres(track.longitude_deg, track.latitude_deg)
        counts = [c for c in run.turns.counts if c.start_s is not None and c.end_s is not None]
        turns = sum(c.turns for c in counts)
        at = [np.array([c.start_s, c.end_s], dtype=float) for c in counts]
        chord = sum(
            np.hypot(*(np.diff(np.interp(t, track.time_s, m))[0] for m in (east, north)))
            for t in at
        )
        known = np.isfinite(track.speed_m_s)
        doppler = "–"
        if known.any():
            driven = sum(
                np.trapezoid(np.interp(f, track.time_s[known], track.speed_m_s[known]), f)
                for f in (np.linspace(*t, 400) for t in at)
            )
            doppler = f"{driven / turns:.4f}"
        row = [about, f"{chord / turns:.4f}", doppler]
        seeder = run.seeder
        try:
            result = groundtruth.measure(
                Run(name=name, track=track, turns=run.turns, seeder=seeder)
            )
        except groundtruth.GroundtruthError as refused:
            rows.append([*row, f"refused: {refused}", "–"])
            continue
        per = seeder.gear_turns_per_counted_turn
        low, high = (v * per for v in result.ground_per_turn_95)
        rows.append(
            [
                *row,
                f"{result.ground_per_turn.value * per:.4f} ({low:.4f} to {high:.4f})",
                f"{len(result.passes)} of {len(counts)}",
            ]
        )
    head = ("", "chord over turns", "Doppler over turns", "groundtruth (95 %)", "passes")
    return markdown_table(head, rows)
