"""A fleet's data set of invented figures, as large as wanted, for the benchmarks of a fleet.

    python -m tests.benchmarks.made_fleet FOLDER [--passes 1000000] [--farms 1000] [--seed 1]

Farms have two seeders each and sow from 2024 to 2026; slip depends on soil and tyre, seeders and
days differ. Nothing is measured from tracks: the figures are drawn, so the set tells how large and
how fast, and nothing about accuracy.
"""

from __future__ import annotations

import argparse
import datetime
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from groundtruth.fleet.columns import MEASURED, pass_schema, run_schema

PASSES_PER_RUN = 20
RUNS_PER_FILE = 12_500
SEASONS = (2024, 2025, 2026)
ZERO_SLIP_TRAVEL_M = 0.45
_TYRES = ("lugged 4.00-8", "ribbed 4.00-8", "bare steel", "rubber ring")
_TEXTURES = ("sandy loam", "loam", "silt loam", "clay loam")
_MOISTURE = ("dry", "moist", "wet")
_PHONES = tuple(f"phone {letter}" for letter in "ABCDEFGH")
_CROPS = ("carrot", "spinach", "beetroot", "onion")
_VERDICTS = ("change", "no change needed", "too uncertain to tell")


def write_fleet(folder: Path, *, passes: int, farms: int = 1000, seed: int = 1) -> None:
    """Write runs and passes below ``folder`` as `groundtruth many` lays them out."""
    import pyarrow.parquet as pq

    rng = np.random.default_rng(seed)
    for season, number, runs in _batches(passes // PASSES_PER_RUN):
        for kind, table in zip(("runs", "passes"), _tables(rng, runs, farms, season), strict=True):
            into = folder / kind / f"season={season}"
            into.mkdir(parents=True, exist_ok=True)
            pq.write_table(table, into / f"part-{number:05d}.parquet", compression="zstd")


def _batches(runs: int) -> Iterator[tuple[int, int, int]]:
    """(season, number of the file, runs in it)."""
    number = 0
    for i, season in enumerate(SEASONS):
        left = runs // len(SEASONS) + (i < runs % len(SEASONS))
        while left:
            now = min(left, RUNS_PER_FILE)
            yield season, number, now
            left, number = left - now, number + 1


def _tables(rng: np.random.Generator, runs: int, farms: int, season: int) -> tuple[Any, Any]:
    """The runs of one file, and their passes."""
    import pyarrow as pa

    def of(words: tuple[str, ...], which: Any) -> Any:
        return pa.DictionaryArray.from_arrays(pa.array(which, pa.int32()), pa.array(words)).cast(
            pa.string()
        )

    def drawn(words: tuple[str, ...]) -> Any:
        return of(words, rng.integers(0, len(words), runs))

    farm = rng.integers(0, farms, runs)
    seeder = 2 * farm + rng.integers(0, 2, runs)
    tyre, texture = seeder % len(_TYRES), farm % len(_TEXTURES)
    moisture = rng.integers(0, len(_MOISTURE), runs)
    lasting = np.random.default_rng(7)  # what belongs to a farm or seeder is so in every file
    farm_effect, latitude, longitude = (
        lasting.normal(0, 0.01, farms),
        lasting.uniform(46, 54, farms),
        lasting.uniform(5, 15, farms),
    )
    slip = (
        np.array([0.02, 0.03, 0.05, 0.08])[tyre]
        + np.array([0.0, 0.01, 0.03])[moisture]
        + farm_effect[farm]
        + rng.normal(0, 0.01, runs)
    )
    speed = rng.uniform(0.7, 1.4, runs)
    ground = ZERO_SLIP_TRAVEL_M / (1 - slip)
    std = ground * rng.uniform(0.002, 0.012, runs)
    change = ground / ZERO_SLIP_TRAVEL_M - 1
    keys = _keys(rng, runs)
    day = rng.integers(90, 270, runs)
    first = (datetime.date(season, 1, 1) - datetime.date(1970, 1, 1)).days
    names = [f"farm {i:06d}" for i in range(farms)]
    columns = {
        "run_key": keys,
        "source": [f"{season}/{key[:12]}/run.toml" for key in keys],
        "status": [MEASURED] * runs,
        "message": [""] * runs,
        "version": ["0.1.0"] * runs,
        "run_name": [f"sowing {d}" for d in day],
        "date": pa.array((first + day).astype(np.int32), pa.int32()).cast(pa.date32()),
        "farm": pa.array(names).take(pa.array(farm)),
        "farm_id": [""] * runs,
        "field": [f"field {d % 7}" for d in day],
        "seeder": [f"seeder {s:07d}" for s in seeder],
        "seeder_id": [""] * runs,
        "phone": drawn(_PHONES),
        "receiver": ["phone"] * runs,
        "tyre": of(_TYRES, tyre),
        "tyre_pressure_pa": rng.integers(80, 200, runs) * 1000.0,
        "ballast_kg": rng.integers(0, 8, runs) * 10.0,
        "soil_moisture": of(_MOISTURE, moisture),
        "soil_texture": of(_TEXTURES, texture),
        "ground_per_turn_m": ground,
        "ground_per_turn_std_m": std,
        "ground_per_turn_low_m": ground - 1.96 * std,
        "ground_per_turn_high_m": ground + 1.96 * std,
        "in_use_m": np.full(runs, ZERO_SLIP_TRAVEL_M),
        "change": change,
        "change_std": std / ZERO_SLIP_TRAVEL_M,
        "zero_slip_travel_m": np.full(runs, ZERO_SLIP_TRAVEL_M),
        "slip": slip,
        "slip_std": std / ZERO_SLIP_TRAVEL_M,
        "spread_m": rng.uniform(0.002, 0.008, runs),
        "spread_std_m": rng.uniform(0.001, 0.003, runs),
        "passes": np.full(runs, PASSES_PER_RUN),
        "verdict": drawn(_VERDICTS),
        "speed_m_s": speed,
        "fixes": rng.integers(2_000, 9_000, runs),
        "fixes_set_aside": rng.integers(0, 30, runs),
        "latitude_deg": latitude[farm] + rng.normal(0, 0.004, runs),
        "longitude_deg": longitude[farm] + rng.normal(0, 0.004, runs),
        "seconds": rng.uniform(0.4, 0.7, runs),
    }
    of_run = np.repeat(np.arange(runs), PASSES_PER_RUN)
    count = len(of_run)
    number = np.tile(np.arange(1, PASSES_PER_RUN + 1), runs)
    turns = rng.integers(100, 300, count).astype(float)
    pass_ground = ground[of_run] * (1 + rng.normal(0, 0.01, count))
    start = (first + day[of_run]) * 86_400 + 25_200 + number * 300 + rng.integers(0, 60, count)
    passes = {
        "run_key": pa.array(keys).take(pa.array(of_run)),
        "number": number,
        "start_at": pa.array(start * 1_000_000, pa.timestamp("us", tz="UTC")),
        "unit": of(("1", "2", "3"), number % 3),
        "distance_m": turns * pass_ground,
        "distance_std_m": rng.uniform(0.3, 1.2, count),
        "turns": turns,
        "ground_per_turn_m": pass_ground,
        "ground_per_turn_std_m": rng.uniform(0.002, 0.008, count),
        "slip": 1 - ZERO_SLIP_TRAVEL_M / pass_ground,
        "slip_std": rng.uniform(0.004, 0.015, count),
        "speed_m_s": speed[of_run] + rng.normal(0, 0.05, count),
        "bed": pa.array([f"bed {i}" for i in range(60)]).take(pa.array((number * 3) % 60)),
        "crop": of(_CROPS, number % len(_CROPS)),
        "setting": of(("11", "12", "13"), number % 3),
    }
    return pa.table(columns, schema=run_schema()), pa.table(passes, schema=pass_schema())


def _keys(rng: np.random.Generator, count: int) -> list[str]:
    """Keys as long and as random as SHA-256 in hexadecimal."""
    drawn = rng.bytes(32 * count)
    return [drawn[32 * i : 32 * i + 32].hex() for i in range(count)]


def main() -> None:
    """Write it and say how large it is."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--passes", type=lambda text: int(float(text)), default=1_000_000)
    parser.add_argument("--farms", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    write_fleet(args.folder, passes=args.passes, farms=args.farms, seed=args.seed)
    size = sum(f.stat().st_size for f in args.folder.rglob("*.parquet"))
    print(f"{args.passes:,} passes: {size / 1e6:,.0f} MB")


if __name__ == "__main__":
    main()
