"""A small fleet of invented figures with known truth, laid out as `groundtruth many` does it."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

from groundtruth.fleet.columns import PASS_COLUMNS, RUN_COLUMNS, pass_schema, run_schema

IN_USE_M, ROLLED_M = 0.60, 0.58
WET, SLOW_TYRE, FASTER = 0.03, 0.02, 0.01
"""What wet soil, the tyre "smooth" and 0.1 m/s more add to the log ratio of slip."""
OFF = {3: 0.10, 17: -0.11, 24: 0.12}
"""Farms whose seeder A is off by so much (log)."""


def filled(columns: Any, **values: Any) -> dict[str, Any]:
    """A row with every column, "" or None where nothing is given."""
    row = {name: "" if kind == "text" else None for name, kind in columns}
    return row | values


def write(folder: Path, runs: list[dict[str, Any]], passes: list[dict[str, Any]]) -> Path:
    """The two tables as files of one season."""
    for kind, rows, schema in (("runs", runs, run_schema()), ("passes", passes, pass_schema())):
        into = folder / kind / "season=2027"
        into.mkdir(parents=True, exist_ok=True)
        pq.write_table(pa.Table.from_pylist(rows, schema=schema), into / "part-1.parquet")
    return folder


def made_fleet(
    folder: Path, *, farms: int = 30, days: int = 5, seed: int = 5, off: Any = None, version="1"
) -> Path:
    """Two seeders a farm, ``days`` days each, three passes a day."""
    rng = np.random.default_rng(seed)
    off = OFF if off is None else off
    runs, passes = [], []
    for farm in range(farms):
        farm_effect = rng.normal(0, 0.004)
        for seeder in "AB":
            effect = farm_effect + rng.normal(0, 0.006)
            effect += off.get(farm, 0.0) if seeder == "A" else 0.0
            smooth = rng.random() < 0.4
            for day in range(days):
                key = f"{farm:03d}{seeder}{day}"
                wet, speed = rng.random() < 0.4, rng.uniform(0.8, 1.4)
                slip_log = WET * wet + SLOW_TYRE * smooth + FASTER * (speed - 1.1) / 0.1
                u = rng.uniform(0.004, 0.012)
                log_ground = np.log(IN_USE_M) + effect + slip_log - WET * 0.4 - SLOW_TYRE * 0.4
                log_ground += rng.normal(0, 0.004) + rng.normal(0, u)
                ground = float(np.exp(log_ground))
                phone = f"phone {'ABCD'[farm % 4]}"
                runs.append(
                    filled(
                        RUN_COLUMNS,
                        run_key=key, source=f"{key}/run.toml", status="measured", version=version,
                        run_name=key, date=date(2027, 4, 1) + timedelta(days=7 * day),
                        farm=f"Farm {farm}", seeder=seeder, phone=phone, receiver="phone",
                        tyre="smooth" if smooth else "lugged",
                        tyre_pressure_pa=150e3 if farm % 5 else None,
                        soil_moisture="wet" if wet else "dry", soil_texture="loam",
                        ground_per_turn_m=ground, ground_per_turn_std_m=u * ground,
                        ground_per_turn_low_m=ground * (1 - 2 * u),
                        ground_per_turn_high_m=ground * (1 + 2 * u),
                        in_use_m=IN_USE_M, change=ground / IN_USE_M - 1,
                        change_std=u * ground / IN_USE_M, zero_slip_travel_m=ROLLED_M,
                        slip=1 - ROLLED_M / ground, slip_std=u * ROLLED_M / ground,
                        spread_m=0.006 * ground, spread_std_m=0.003 * ground, passes=3,
                        verdict="change it", speed_m_s=speed, fixes=600,
                        fixes_set_aside=30 if phone == "phone C" else 3,
                        latitude_deg=50.1 + 0.1 * (farm % 3),
                        longitude_deg=8.1 + 1.5 * (farm // 15),
                        seconds=0.5,
                    )
                )  # fmt: skip
                for number in (1, 2, 3):
                    at = datetime(2027, 4, 1, 7, tzinfo=UTC) + timedelta(days=7 * day, hours=number)
                    std = (2.4 if phone == "phone C" else 1.0) * rng.uniform(0.6, 0.9)
                    passes.append(
                        filled(
                            PASS_COLUMNS,
                            run_key=key, number=number, start_at=at, unit="1", distance_m=100.0,
                            distance_std_m=std, turns=100 / ground, ground_per_turn_m=ground,
                            ground_per_turn_std_m=u * ground, slip=1 - ROLLED_M / ground,
                            slip_std=u, speed_m_s=speed,
                        )
                    )  # fmt: skip
    return write(folder, runs, passes)
