"""The simulator keeps its own promises: truth is truth, and the noise has the stated size."""

from __future__ import annotations

import json
import tomllib
from dataclasses import replace
from pathlib import Path

import gpxpy
import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from numpy.typing import NDArray
from scipy.stats import rice

from groundtruth.core.errors import InputError
from groundtruth.core.plane import height_factor
from groundtruth.simulation import (
    SCENARIOS,
    FieldLayout,
    Phone,
    Scenario,
    Wheels,
    passes_of,
    simulate_day,
    simulate_pass,
    write_run,
    write_samples,
)
from groundtruth.simulation.motion import _headland
from groundtruth.simulation.noise import gauss_markov, low_pass, smoothed_gauss_markov
from groundtruth.simulation.phone import _correct
from groundtruth.simulation.route import Route

ORDINARY = SCENARIOS["ordinary phone"]


@pytest.mark.parametrize("name", SCENARIOS)
def test_every_scenario_gives_a_day_whose_parts_agree(name: str) -> None:
    day = simulate_day(SCENARIOS[name], 11)
    low, high = SCENARIOS[name].field.passes
    assert low <= len(day.passes) / SCENARIOS[name].field.fields <= high
    assert (np.diff(day.path.ground_m) >= -1e-9).all()
    for p in day.passes:
        covered = np.diff(np.interp([p.start_s, p.end_s], day.path.time_s, day.path.ground_m))
        assert covered[0] == pytest.approx(p.ground_m, abs=0.02)
        inside = (day.track.time_s > p.start_s) & (day.track.time_s < p.end_s)
        assert inside.sum() >= 2
    for unit in day.units:
        covered = sum(p.ground_m for p in day.passes)
        assert unit.ground_per_turn_m * sum(unit.turns) == pytest.approx(covered)
        assert unit.slip == pytest.approx(1 - unit.zero_slip_m / unit.ground_per_turn_m)


def test_the_same_seed_gives_the_same_day_and_another_seed_another() -> None:
    one, again, other = (simulate_day(ORDINARY, seed) for seed in (5, 5, 6))
    assert np.array_equal(one.track.longitude_deg, again.track.longitude_deg)
    assert one.sheet.counts == again.sheet.counts
    assert len(one.track) != len(other.track)


def test_scenarios_that_differ_in_the_phone_only_are_driven_alike() -> None:
    one, other = (simulate_day(SCENARIOS[name], 5) for name in ("calm phone", "bad phone"))
    assert one.passes == other.passes
    assert one.sheet.counts == other.sheet.counts


@pytest.mark.parametrize("seed", range(3))
def test_true_ground_is_the_geodesic_length_of_the_true_path(seed: int) -> None:
    """Karney's geodesics (geographiclib), with slope and height added here by hand."""
    day = simulate_day(SCENARIOS["steep slope"], seed)
    factor = height_factor(float(day.path.height_m[0]), day.plane.latitude_deg)
    p = day.passes[1]
    at = np.linspace(p.start_s, p.end_s, 200)
    path = day.path
    east, north, height = (
        np.interp(at, path.time_s, v) for v in (path.east_m, path.north_m, path.height_m)
    )
    lon, lat = day.plane.to_degrees(east / factor, north / factor)
    total = 0.0
    for k in range(len(at) - 1):
        line = Geodesic.WGS84.Inverse(lat[k], lon[k], lat[k + 1], lon[k + 1])
        total += np.hypot(line["s12"] * factor, height[k + 1] - height[k])
    assert total == pytest.approx(p.ground_m, rel=5e-5)
    axis = Geodesic.WGS84.Inverse(lat[0], lon[0], lat[-1], lon[-1])["azi1"] % 360
    assert axis == pytest.approx(p.axis_deg, abs=0.3)


def test_gauss_markov_noise_has_the_stated_spread_and_correlation() -> None:
    """r(t) = exp(−t/T), checked on 400 runs; the bounds are four standard errors."""
    noise = gauss_markov(np.random.default_rng(1), (400, 200), 0.5, 2.0, 20.0)
    assert noise[:, 0].std() == pytest.approx(2.0, rel=0.15)
    assert noise[:, -1].std() == pytest.approx(2.0, rel=0.15)
    for lag in (10, 40, 100):
        r = (noise[:, 0] * noise[:, lag]).mean() / 4
        assert r == pytest.approx(np.exp(-lag * 0.5 / 20), abs=4 / np.sqrt(400))


def test_smoothed_noise_has_the_stated_spread_and_is_once_differentiable() -> None:
    """k(t) = σ²·(τ·e^(−t/τ) − ρ·e^(−t/ρ))/(τ − ρ), an autoregressive process of order 2 with real
    roots (Box, Jenkins & Reinsel, *Time Series Analysis*, 3.2.4, from memory), on 400 runs."""
    tau, rise, std = 20.0, 4.0, 2.0
    noise = smoothed_gauss_markov(np.random.default_rng(2), (400, 400), 0.1, std, tau, rise)
    assert noise[:, 0].std() == pytest.approx(std, rel=0.15)
    assert noise[:, -1].std() == pytest.approx(std, rel=0.15)
    for lag in (20, 100, 300):
        t = 0.1 * lag
        r = (tau * np.exp(-t / tau) - rise * np.exp(-t / rise)) / (tau - rise)
        found = (noise[:, 0] * noise[:, lag]).mean() / std**2
        assert found == pytest.approx(r, abs=4 / np.sqrt(400))
    # its steps shrink with the step itself, not with its root: variance σ²·dt²/(τ·ρ)
    step = np.diff(noise, axis=1).std()
    assert step == pytest.approx(std * 0.1 / np.sqrt(tau * rise), rel=0.1)


def test_corrections_move_by_as_much_as_drawn_and_fade() -> None:
    day = simulate_day(SCENARIOS["drifting phone"], 3)
    time = np.arange(0, 4000, 0.1)
    error = _correct(time, day.phone, SCENARIOS["drifting phone"].phone, np.random.default_rng(4))
    assert np.abs(error[:, 0]).max() == 0
    assert 1.0 < np.hypot(*error).max() < 12.0
    assert np.hypot(*np.diff(error, axis=1)).max() < 4.0 / 5 * 0.1 * 3


def test_a_centimetre_receiver_errs_by_centimetres() -> None:
    day = simulate_day(SCENARIOS["centimetre receiver"], 3)
    factor = height_factor(float(day.path.height_m[0]), day.plane.latitude_deg)
    east, north = day.plane.to_metres(day.track.longitude_deg, day.track.latitude_deg)
    at = day.track.time_s
    true = [np.interp(at, day.path.time_s, v) for v in (day.path.east_m, day.path.north_m)]
    assert np.hypot(east * factor - true[0], north * factor - true[1]).max() < 0.15


def test_late_fixes_show_the_place_of_a_second_before() -> None:
    exact = replace(
        ORDINARY.phone,
        slow_m=(0, 0),
        fast_m=(0, 0),
        white_m=(0, 0),
        corrections_per_minute=(0, 0),
        frozen_share=(0, 0),
        late_share=(0.05, 0.05),
        coordinate_steps_deg=(1e-9,),
    )
    day = simulate_day(replace(ORDINARY, phone=exact), 2)
    factor = height_factor(float(day.path.height_m[0]), day.plane.latitude_deg)
    east, north = day.plane.to_metres(day.track.longitude_deg, day.track.latitude_deg)

    def off(late_s: float) -> NDArray[np.float64]:
        at = day.track.time_s - late_s
        true = [np.interp(at, day.path.time_s, v) for v in (day.path.east_m, day.path.north_m)]
        return np.hypot(east * factor - true[0], north * factor - true[1])

    late = off(0.0) > 0.01
    assert 0.02 < late.mean() < 0.06
    assert off(1.0)[late].max() < 0.01


@pytest.mark.parametrize("poles", [1, 2])
def test_a_low_pass_filter_follows_steady_motion_late_by_its_lag(poles: int) -> None:
    ramp = np.arange(0, 60, 0.1)
    late = ramp - low_pass(ramp, 0.1, 2.0, poles)
    assert late[-1] == pytest.approx(2.0, abs=0.1)


def test_the_loop_and_the_backing_turn_end_at_the_next_bed() -> None:
    for kind in ("loop", "back up"):
        for side, shift in ((1, 1.5), (-1, 4.0), (1, 9.0)):
            route = Route(0.0, 0.4)
            _headland(route, kind, side, shift, 4.0, 1.0, -1.0)
            east, north, heading = route.pose
            assert (east, north) == pytest.approx((0, side * shift), abs=1e-9)
            assert np.cos(heading) == pytest.approx(-1)


def test_counts_are_whole_turns_within_one_of_the_truth_and_read_while_standing() -> None:
    day = simulate_day(SCENARIOS["four units, one lagging"], 2)
    turns = {unit.unit: unit.turns for unit in day.units}
    passes = {p.number: p for p in day.passes}
    for count in day.sheet.counts:
        p = passes[count.pass_number]
        assert p.stood_start is not None
        assert p.stood_end is not None
        assert count.turns == int(count.turns)
        assert abs(count.turns - turns[count.unit][count.pass_number - 1]) < 1
        assert p.stood_start[0] <= (count.start_s or 0) <= p.stood_start[1]
        assert p.stood_end[0] <= (count.end_s or 0) <= p.stood_end[1]
    ground = [unit.ground_per_turn_m for unit in day.units]
    assert ground[3] > 1.02 * max(ground[:3])


@pytest.mark.whole_days
def test_whole_turns_without_phase_err_as_a_triangle() -> None:
    """u = 1/√6 of a turn [JCGM 100:2008, 4.3.9]; the bound is four standard errors."""
    errors = []
    for seed in range(60):
        day = simulate_day(ORDINARY, seed)
        errors += [
            count.turns - turns
            for count, turns in zip(day.sheet.counts, day.units[0].turns, strict=True)
        ]
    assert np.mean(errors) == pytest.approx(0, abs=4 * 0.41 / np.sqrt(len(errors)))
    assert np.std(errors) == pytest.approx(1 / np.sqrt(6), rel=4 / np.sqrt(2 * len(errors)))


def test_timed_turns_fall_at_even_steps_of_ground() -> None:
    day = simulate_day(SCENARIOS["turns timed"], 4)
    (readings,) = day.sheet.readings
    assert readings.at_each_turn
    p, unit = day.passes[0], day.units[0]
    mine = (readings.time_s >= p.start_s) & (readings.time_s <= p.end_s)
    ground = np.interp(readings.time_s[mine], day.path.time_s, day.path.ground_m)
    assert mine.sum() == pytest.approx(unit.turns[0], abs=1)
    assert np.diff(ground) == pytest.approx(p.ground_m / unit.turns[0], rel=0.08)


def test_a_running_counter_steps_only_in_passes() -> None:
    day = simulate_day(replace(ORDINARY, wheels=Wheels(counts="running")), 3)
    (readings,) = day.sheet.readings
    steps = np.diff(readings.turns)
    assert steps[0::2] == pytest.approx(day.units[0].turns, abs=1)
    assert (steps[1::2] == 0).all()


def test_doppler_speed_of_a_standing_tractor_is_the_length_of_noise() -> None:
    """Mean of a Rayleigh variable, σ√(π/2) (Rice 1945, from memory), over 40 days' standing."""
    ratio = []
    for seed in range(40):
        day = simulate_day(SCENARIOS["doppler"], seed)
        true = np.interp(day.track.time_s, day.path.time_s, day.path.speed_m_s)
        assert (day.track.speed_m_s >= 0).all()
        sigma = np.hypot(day.phone.doppler_white_m_s, day.phone.doppler_correlated_m_s)
        ratio.append(day.track.speed_m_s[true < 1e-6].mean() / sigma)
    assert np.mean(ratio) == pytest.approx(np.sqrt(np.pi / 2), rel=0.03)


@pytest.mark.parametrize(("spread_m", "step_m"), [(1.0, 5.0), (0.5, 2.0)])
def test_sum_of_segments_is_too_long_by_the_published_amount(
    spread_m: float, step_m: float
) -> None:
    """White noise of σ per axis on steps of d makes the reported step a Rice variable with √2·σ
    (why paths come out too long: Ranacher et al. 2016, arXiv 1504.04504); mean from scipy."""
    white = Phone(
        rate_hz=1.0,
        slow_m=(0, 0),
        fast_m=(0, 0),
        white_m=(spread_m, spread_m),
        corrections_per_minute=(0, 0),
        late_share=(0, 0),
        frozen_share=(0, 0),
        coordinate_steps_deg=(1e-9,),
    )
    steady = replace(
        ORDINARY.motion,
        speed_m_s=(step_m, step_m),
        speed_variation=(0, 0),
        sagitta_m=(0, 0),
        weave_m=(0, 0),
    )
    long = FieldLayout(passes=(1, 1), bed_length_m=(40000, 40000), drive_m=None)
    day = simulate_pass(Scenario(name="", about="", motion=steady, field=long, phone=white), 1)
    inside = (day.time_s > day.mark_s[0] + 30) & (day.time_s < day.mark_s[1] - 30)
    steps = np.hypot(np.diff(day.east_m[inside]), np.diff(day.north_m[inside]))
    expected = rice(step_m / (np.sqrt(2) * spread_m), scale=np.sqrt(2) * spread_m).mean()
    assert expected > 1.03 * step_m
    four_errors = 4 * 1.7 * spread_m**2 / step_m / np.sqrt(len(steps))
    assert steps.mean() == pytest.approx(expected, abs=four_errors)


@pytest.mark.whole_days
def test_errors_of_an_ordinary_phone_are_as_large_as_drawn() -> None:
    ratios = []
    uncorrected = replace(ORDINARY.phone, corrections_per_minute=(0, 0), late_share=(0, 0))
    for seed in range(60):
        day = simulate_day(replace(ORDINARY, phone=uncorrected), seed)
        factor = height_factor(float(day.path.height_m[0]), day.plane.latitude_deg)
        east, north = day.plane.to_metres(day.track.longitude_deg, day.track.latitude_deg)
        at = day.track.time_s
        off = np.stack(
            [
                east * factor - np.interp(at, day.path.time_s, day.path.east_m),
                north * factor - np.interp(at, day.path.time_s, day.path.north_m),
            ]
        )
        drawn = day.phone
        total = np.sqrt(drawn.slow_m**2 + drawn.fast_m**2 + drawn.white_m**2)
        ratios.append(np.mean(off**2) / total**2)
    assert np.mean(ratios) == pytest.approx(1.0, abs=0.15)


def test_stamps_gaps_rates_and_frozen_fixes() -> None:
    whole = simulate_day(SCENARIOS["whole seconds"], 1).track
    assert (whole.time_s == np.floor(whole.time_s)).all()
    assert np.median(np.diff(simulate_day(SCENARIOS["low rate"], 1).track.time_s)) == 5
    gaps = [np.diff(simulate_day(SCENARIOS["gaps"], s).track.time_s).max() for s in range(5)]
    assert max(gaps) > 15
    day = simulate_day(SCENARIOS["smoothing phone"], 1)
    true = np.interp(day.track.time_s, day.path.time_s, day.path.speed_m_s)
    same = np.diff(day.track.longitude_deg) == 0
    standing = true[1:] < 1e-6
    assert same[standing].mean() > 0.4
    assert same[true[1:] > 0.5].mean() < 0.05


def test_a_slow_recorder_keeps_every_so_manieth_fix_of_the_same_phone() -> None:
    """A repeated position is that of the second before, however seldom the recorder writes."""
    each, tenth = (
        simulate_day(replace(ORDINARY, phone=replace(ORDINARY.phone, rate_hz=rate)), 3).track
        for rate in (1.0, 0.1)
    )
    whole = np.isin(each.time_s, tenth.time_s)
    assert np.array_equal(np.diff(np.flatnonzero(whole)), np.full(whole.sum() - 1, 10))
    assert np.array_equal(tenth.latitude_deg, each.latitude_deg[whole])


def test_simulated_pass_is_cut_from_its_day() -> None:
    one = simulate_pass(ORDINARY, 8)
    assert one.truth.stood_start is not None
    assert one.time_s[0] >= one.truth.stood_start[0]
    assert one.ground_m == one.truth.ground_m
    assert len(passes_of(simulate_day(ORDINARY, 8))) == len(simulate_day(ORDINARY, 8).passes)


@pytest.mark.parametrize("name", ["doppler", "turns timed", "high rate"])
def test_a_written_run_reads_back(name: str, tmp_path: Path) -> None:
    day = simulate_day(SCENARIOS[name], 3)
    run = write_run(day, tmp_path / "run", units="us", time_zone="America/Chicago")
    gpx = gpxpy.parse((run.parent / "track.gpx").read_text())
    points = gpx.tracks[0].segments[0].points
    assert len(points) == len(day.track)
    assert [p.latitude for p in points] == day.track.latitude_deg.tolist()
    assert points[-1].time.timestamp() == pytest.approx(day.track.time_s[-1], abs=0.001)
    if name == "doppler":
        assert [p.speed for p in points] == day.track.speed_m_s.tolist()
    described = tomllib.loads(run.read_text())
    assert described["units"] == "us"
    truth = json.loads((run.parent / "truth.json").read_text())
    assert len(truth["passes"]) == len(day.passes)
    assert truth["ground_per_turn_m"] == pytest.approx(day.ground_per_turn_m, abs=1e-6)
    header = (run.parent / "turns.csv").read_text().splitlines()[0]
    assert header == ("time,unit,turns" if name == "turns timed" else "pass,start,end,unit,turns")
    assert sorted(f.name for f in run.parent.iterdir()) == [
        "run.toml",
        "track.gpx",
        "truth.json",
        "turns.csv",
    ]


def test_sample_runs_are_what_the_simulator_writes(tmp_path: Path) -> None:
    committed = Path(__file__).parent.parent / "sample_tracks"
    for run in write_samples(tmp_path):
        same = committed / run.parent.name
        assert run.read_text() == (same / "run.toml").read_text()
        assert (run.parent / "turns.csv").read_text() == (same / "turns.csv").read_text()
        new, old = (
            gpxpy.parse((folder / "track.gpx").read_text()).tracks[0].segments[0].points
            for folder in (run.parent, same)
        )
        assert [p.time for p in new] == [p.time for p in old]
        # the last digit of a coordinate may differ between builds of the arithmetic
        assert [p.latitude for p in new] == pytest.approx([p.latitude for p in old], abs=2e-6)
        assert [p.longitude for p in new] == pytest.approx([p.longitude for p in old], abs=2e-6)
        assert (same / "track.gpx").stat().st_size < 250_000


def test_unknown_sample_is_refused_with_the_known_names(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="dry-firm"):
        write_samples(tmp_path, ["dry"])
