"""Does the plan foretell what simulated days then give? (Truth: our simulator.)

    python -m tests.benchmarks.plan [--days 40] [--design 0 1 ...] [--write docs/plan.md]

Each line is one design: days of beds of that length, driven at that speed with a phone of that
kind, are simulated and measured through the whole path (pass finding and matching included). Set
beside the forecast are the half-width of the 95 % interval that the measured runs state (root mean
square), the same over that of the forecasts for the very phones that the days drew, and the error
of the figure against what endlessly many such passes would give, with its own standard error.
"""

from __future__ import annotations

import argparse
import os
from dataclasses import dataclass, replace
from pathlib import Path

os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

import groundtruth
from groundtruth.core.run import Run
from groundtruth.estimator.priors import PARAMETERS
from groundtruth.planning import KINDS, Design, Forecast, Forecaster, NoiseEnsemble, noise_of_kind
from groundtruth.planning.phone_kinds import SHORTEST_RISE_S, correction_std_m
from groundtruth.simulation import SCENARIOS, Scenario, SimulatedDay, simulate_day

from .page import markdown_row, markdown_table, write_between

CIRCUMFERENCE_M, GEAR_RATIO = 1.8, 3.0
GROUND_PER_TURN_M = CIRCUMFERENCE_M / GEAR_RATIO
COUNTS = {"whole": "whole", "tenth": "tenth", "each": "each turn"}
DESIGNS = (
    ("ordinary", 100.0, 1.0, 10, "whole", "stand"),
    ("ordinary", 50.0, 1.3, 4, "tenth", "stand"),
    ("calm", 80.0, 0.9, 8, "whole", "stand"),
    ("drifting", 100.0, 1.0, 10, "whole", "stand"),
    ("rough", 120.0, 1.3, 6, "tenth", "stand"),
    ("bad", 180.0, 1.6, 6, "whole", "stand"),
    ("with-speed", 120.0, 1.2, 6, "whole", "stand"),
    ("centimetre", 100.0, 1.0, 5, "tenth", "stand"),
    ("ordinary", 120.0, 1.0, 8, "whole", "instants"),
)
"""Kind of phone, bed (m), speed (m/s), passes, counting, ends."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """One simulated day, relative to its truth."""

    error: float
    half_width: float
    own_forecast: float = float("nan")


def design_of(row: tuple[str, float, float, int, str, str]) -> Design:
    """The plan's design of a row."""
    _, bed_m, speed_m_s, _, counting, ends = row
    return Design(
        bed_length_m=bed_m,
        speed_m_s=speed_m_s,
        counting=counting,
        ground_per_turn_m=GROUND_PER_TURN_M,
        ends=ends,
    )


def scenario_of(row: tuple[str, float, float, int, str, str]) -> Scenario:
    """The simulator's scenario of a row: the same beds, speed, spread and counting."""
    kind, bed_m, speed_m_s, passes, counting, ends = row
    design = design_of(row)
    base = SCENARIOS[KINDS[kind].scenario]
    return replace(
        base,
        field=replace(
            base.field, passes=(passes, passes), bed_length_m=(bed_m, bed_m), pauses=(0, 0)
        ),
        motion=replace(
            base.motion,
            speed_m_s=(speed_m_s, speed_m_s),
            end_stop_s=(design.stand_s, design.stand_s),
            rolling_share=0.0 if ends == "stand" else 1.0,
        ),
        wheels=replace(
            base.wheels,
            circumference_m=(CIRCUMFERENCE_M, CIRCUMFERENCE_M),
            gear_ratio=(GEAR_RATIO, GEAR_RATIO),
            slip_between_passes=(design.spread, design.spread),
            counts=COUNTS[counting],
            instants=ends != "rolling",
        ),
    )


def drawn_noise(day: SimulatedDay, kind: NoiseEnsemble) -> NoiseEnsemble:
    """The phone and driving that the day drew, as the only set of parameters."""
    phone, motion = day.phone, day.motion
    drawn = {
        "slow_m": phone.slow_m,
        "slow_s": phone.slow_time_s,
        "fast_m": np.hypot(phone.fast_m, correction_std_m(day.scenario.phone)),
        "fast_s": phone.fast_time_s,
        "rise_s": phone.rise_s or SHORTEST_RISE_S,
        "white_m": phone.white_m,
        "drive": motion.speed_variation,
        "drive_s": motion.speed_variation_time_s,
        "ramp_s": motion.speed_m_s / motion.acceleration_m_s2,
        "doppler_white_m_s": phone.doppler_white_m_s or 0.1,
        "doppler_slow_m_s": phone.doppler_correlated_m_s or 0.03,
    }
    # what the simulator does not draw stays as the kind has it
    usual = np.exp(np.log(kind.values) @ kind.weight)
    values = np.array([[drawn.get(n, usual[i])] for i, n in enumerate(PARAMETERS)])
    return replace(kind, values=values, weight=np.ones(1))


def measured_day(day: SimulatedDay) -> Seen:
    """What the whole path makes of a day."""
    receiver = "centimetre" if day.scenario.name == "centimetre receiver" else None
    run = Run(
        name=day.scenario.name,
        track=day.track,
        turns=day.sheet,
        seeder=day.seeder,
        receiver=receiver,
    )
    result = groundtruth.measure(run)
    low, high = result.ground_per_turn_95
    figure, truth = result.ground_per_turn, day.expected_ground_per_turn_m
    return Seen(
        error=figure.value / truth - 1,
        half_width=(high - low) / 2 / figure.value,
    )


def line(row: tuple[str, float, float, int, str, str], days: int, seed0: int) -> str:
    """One row of the table."""
    kind, bed_m, speed_m_s, passes, counting, ends = row
    forecast: Forecast = Forecaster(design_of(row), noise_of_kind(kind)).after(passes)
    scenario, seen, refused = scenario_of(row), [], 0
    for seed in range(seed0, seed0 + days):
        day = simulate_day(scenario, seed)
        try:
            found = measured_day(day)
        except groundtruth.GroundtruthError:
            refused += 1
            continue
        own = Forecaster(design_of(row), drawn_noise(day, noise_of_kind(kind))).after(passes)
        seen.append(replace(found, own_forecast=own.half_width))

    def rms(values: list[float]) -> float:
        return 100 * float(np.sqrt(np.mean(np.square(values))))

    half, error = rms([s.half_width for s in seen]), rms([s.error for s in seen])
    cells = [
        f"{kind}, {bed_m:g} m, {speed_m_s:g} m/s, {passes} passes, {counting}, {ends}",
        f"{100 * forecast.half_width:.2f}",
        f"{half:.2f}",
        f"{half / 100 / forecast.half_width:.2f}",
        f"{half / rms([s.own_forecast for s in seen]):.2f}",
        f"{100 * forecast.std:.2f}",
        f"{error:.2f} ± {error / np.sqrt(2 * len(seen)):.2f}",
    ]
    if refused:
        cells[0] += f" ({refused} of {days} days refused)"
    return markdown_row(cells)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--days", type=int, default=40)
    parser.add_argument("--seed0", type=int, default=0)
    parser.add_argument("--design", type=int, nargs="*", default=list(range(len(DESIGNS))))
    parser.add_argument("--write", type=Path, help="put the table between the markers of a page")
    args = parser.parse_args()
    head = "design", "half-width: forecast %", "measured %", "ratio", "phones as drawn: ratio"
    rows = [markdown_table((*head, "u: forecast %", "error %"), [])]
    print("\n".join(rows), flush=True)
    for number in args.design:
        rows.append(line(DESIGNS[number], args.days, args.seed0))
        print(rows[-1], flush=True)
    if args.write:
        write_between(args.write, "\n".join(rows), "plan table")


if __name__ == "__main__":
    main()
