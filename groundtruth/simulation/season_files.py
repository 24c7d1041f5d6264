"""Write a simulated season: a run folder for each day, the map of its beds and its truth."""

from __future__ import annotations

import json
import os
from pathlib import Path

import numpy as np

from ..core.crops import Crop
from ..core.measured import Measured
from ..core.plane import Axis
from ..io.writing import hashes, sealed, write_all_whole
from .season import (
    BED_SPACING_M,
    BLOCKS,
    SeasonPlan,
    bed_lengths_m,
    bed_name,
    block_plane,
    simulate_season,
)
from .write import SIMULATOR, write_run


def beds_geojson(plan: SeasonPlan) -> str:
    """The grower's own map of the beds."""
    features = []
    for block in range(len(BLOCKS)):
        plane, heading = block_plane(block)
        for bed, length in enumerate(bed_lengths_m(plan, block)):
            across = np.full(2, bed * BED_SPACING_M)
            ends = Axis.towards(heading).from_origin(np.array([0.0, length]), across)
            lon, lat = plane.to_degrees(*ends)
            features.append(
                {
                    "type": "Feature",
                    "geometry": {
                        "type": "LineString",
                        "coordinates": [
                            [round(float(a), 7), round(float(b), 7)]
                            for a, b in zip(lon, lat, strict=True)
                        ],
                    },
                    "properties": {
                        "name": bed_name(block, bed),
                        "block": BLOCKS[block],
                    },
                }
            )
    body = ",\n".join(json.dumps(f) for f in features)
    return f'{{"type": "FeatureCollection", "features": [\n{body}\n]}}\n'


def write_season(
    folder: str | os.PathLike[str],
    *,
    plan: SeasonPlan | None = None,
    seed: int = 1,
    overwrite: bool = False,
) -> tuple[Path, ...]:
    """Write the season: a run folder for each day, beds.geojson and truth.json; the run files.

    Raises
    ------
    InputError : a file cannot be written.
    """
    plan = plan or SeasonPlan()
    place = Path(folder)
    written = []
    days = simulate_season(plan, seed)
    for day in days:
        written.append(
            write_run(
                day.day,
                place / f"day-{day.number + 1:02d}",
                crops=[Crop(name=day.crop, plants_per_m=1 / 0.03, germination=Measured(0.8))],
                about="One day of a simulated season of an invented farm.",
                overwrite=overwrite,
            )
        )
    beds = beds_geojson(plan)
    truth = {
        "tool": SIMULATOR,
        "simulated": True,
        "files": hashes({"beds.geojson": beds}),
        "days": [
            {
                "folder": f"day-{d.number + 1:02d}",
                "wet": d.wet,
                "beds": list(d.names),
                "crop": d.crop,
                "expected_ground_per_turn_m": round(d.day.expected_ground_per_turn_m, 6),
            }
            for d in days
        ],
    }
    write_all_whole(
        {
            place / "beds.geojson": beds,
            place / "truth.json": sealed(json.dumps(truth, indent=1)),
        },
        overwrite=overwrite,
    )
    return tuple(written)
