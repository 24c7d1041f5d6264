"""The plan's forecast against the exact bound and simulated days (our simulator); its words."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
from benchmarks.bound import bound
from benchmarks.cases import cases_in
from benchmarks.plan import design_of, drawn_noise, measured_day, scenario_of
from numpy.testing import assert_allclose

from groundtruth.cli.commands.plan import PHONES
from groundtruth.cli.main import main
from groundtruth.core.errors import InputError, MeasureError
from groundtruth.core.plane import Plane
from groundtruth.core.track import Track
from groundtruth.core.uncertainty import UncertaintySource
from groundtruth.estimator import make_stretch
from groundtruth.estimator.priors import PARAMETERS, PHONE
from groundtruth.planning import (
    KINDS,
    Design,
    Forecaster,
    make_plan,
    noise_from_track,
    noise_of_kind,
)
from groundtruth.planning.expected_posterior import fisher_information
from groundtruth.planning.forecast import MOST_PASSES, fixed_length_forecast
from groundtruth.simulation import Scenario, simulate_day
from groundtruth.simulation.noise import gauss_markov

DESIGN = Design(bed_length_m=100.0, speed_m_s=1.0, counting="whole", ground_per_turn_m=0.6)


def without_events(scenario: Scenario) -> Scenario:
    """A phone whose error is Gaussian: no corrections, no late and no held fixes."""
    none = {"corrections_per_minute": (0, 0), "late_share": (0, 0), "frozen_share": (0, 0)}
    return replace(scenario, phone=replace(scenario.phone, **none))


@pytest.mark.parametrize("kind", ["ordinary", "calm", "drifting", "with-speed"])
def test_one_pass_is_as_unsure_as_the_exact_bound_says(kind, monkeypatch):
    """Same phone, same driving: two computations that share no code."""
    # the bound is told when the tractor stood
    monkeypatch.setattr("groundtruth.planning.forecast.EDGE_STD_S", 0.0)
    row = (kind, 90.0, 1.1, 3, "whole", "stand")
    ratios = []
    for seed in range(3):
        day, cases = cases_in(without_events(scenario_of(row)), seed)
        forecaster = Forecaster(design_of(row), drawn_noise(day, noise_of_kind(kind)))
        forecast = np.sqrt(forecaster.position_covariance(1, known=True)[0][0, 0])
        least = bound(cases).std_m / [c.ground_m for c in cases]
        ratios += (forecast / 90.0 / least).tolist()
    # the model allows for ramps that are not known to the second, the bound does not
    assert 0.97 < np.mean(ratios) < 1.12


@pytest.mark.whole_days
@pytest.mark.parametrize("kind", ["ordinary", "with-speed"])
def test_sums_of_passes_err_as_the_covariance_says(kind):
    """The best estimate's error over eight passes, 60 days: z has to have a spread of one."""
    passes = 8
    row = (kind, 60.0, 1.2, passes, "whole", "stand")
    scenario, z = without_events(scenario_of(row)), []
    for seed in range(60):
        day, cases = cases_in(scenario, seed)
        forecaster = Forecaster(design_of(row), drawn_noise(day, noise_of_kind(kind)))
        std = np.sqrt(forecaster.position_covariance(passes, known=True)[0].sum())
        error = bound(cases).mean_m.sum() - sum(c.ground_m for c in cases)
        z.append(error / std)
    # 60 draws: the spread itself is known to 9 %
    assert 0.75 < np.sqrt(np.mean(np.square(z))) < 1.25


@pytest.mark.whole_days
@pytest.mark.parametrize(
    "row", [("ordinary", 70.0, 1.3, 5, "tenth", "stand"), ("calm", 90.0, 1.1, 4, "whole", "stand")]
)
def test_measured_days_are_as_sure_as_was_foretold(row):
    """Whole path on simulated days, each with the forecast for the phone it drew: within 20 %."""
    kind, passes = row[0], row[3]
    forecast, measured = [], []
    for seed in range(5):
        day = simulate_day(scenario_of(row), seed)
        noise = drawn_noise(day, noise_of_kind(kind))
        forecast.append(Forecaster(design_of(row), noise).after(passes).half_width)
        measured.append(measured_day(day).half_width)
    assert_allclose(np.mean(forecast), np.mean(measured), rtol=0.2)


def test_information_about_white_noise_is_that_of_the_textbook():
    """n independent normal values tell ln σ with information 2n (Cramér, *Mathematical Methods of
    Statistics*, 1946, 32.3, from memory), less 2 for each free coefficient."""
    values = np.exp(PHONE.log_median)
    for name, value in (("slow_m", 1e-6), ("fast_m", 1e-6), ("drive", 1e-9), ("white_m", 1.0)):
        values[PARAMETERS.index(name)] = value
    fixes = 60
    time = np.arange(float(fixes))
    nothing = np.full(fixes, np.nan)
    stretch = make_stretch(
        time, np.zeros(fixes), time, nothing, start_s=0.0, end_s=fixes - 1.0, edge_std_s=0.0
    )
    found = fisher_information(stretch, values, across=False, doppler=False)
    white = PARAMETERS.index("white_m")
    assert found[white, white] == pytest.approx(2 * (fixes - 2), rel=0.05)


def test_many_passes_teach_the_phone_and_few_leave_what_is_usual():
    kind = noise_of_kind("calm")
    forecaster = Forecaster(DESIGN, kind)
    known = forecaster.position_covariance(1, known=True)[0][0, 0]
    widths = [forecaster.position_covariance(n)[0][0, 0] for n in (1, 8, 60)]
    assert widths[0] > widths[1] > widths[2] > 0.95 * known


def test_more_passes_longer_beds_and_better_phones_make_it_surer():
    ordinary, good, bad = (
        Forecaster(DESIGN, noise_of_kind(k)) for k in ("ordinary", "calm", "bad")
    )
    by_passes = [ordinary.after(n).half_width for n in (1, 2, 3, 5, 8, 13, 21, 34, 60)]
    assert by_passes == sorted(by_passes, reverse=True)
    longer = Forecaster(replace(DESIGN, bed_length_m=200.0), noise_of_kind("ordinary"))
    assert longer.after(6).half_width < ordinary.after(6).half_width
    assert good.after(6).half_width < ordinary.after(6).half_width < bad.after(6).half_width


def test_direction_and_ends_matter_as_the_model_says():
    forecast = {
        name: Forecaster(replace(DESIGN, **changed), noise_of_kind("ordinary")).after(8).std
        for name, changed in {
            "to and fro": {},
            "one way": {"one_way": True},
            "written": {"ends": "instants"},
            "rolling": {"ends": "rolling"},
        }.items()
    }
    assert forecast["one way"] < forecast["to and fro"] < forecast["written"] < forecast["rolling"]


def test_shares_add_up_and_name_every_source():
    shares = Forecaster(replace(DESIGN, ends="instants"), noise_of_kind("bad")).after(5).shares
    assert sum(shares.values()) == pytest.approx(1)
    assert set(shares) == {
        UncertaintySource.POSITION,
        UncertaintySource.ENDS,
        UncertaintySource.COUNTING,
        UncertaintySource.SLOPE,
        UncertaintySource.WINDING,
        UncertaintySource.PASSES,
    }


def test_with_exact_lengths_and_counts_only_the_spread_is_left():
    """Thirty lengths without error: the half-width is Student's t over thirty passes.

    t(0.975, 29) = 2.045 (Pearson & Hartley, Biometrika Tables for Statisticians, table 12, from
    memory); the weak prior of the spread may move it a little.
    """
    design = replace(DESIGN, counting="each", bed_length_m=1000.0, ground_per_turn_m=0.1)
    forecast = fixed_length_forecast(design, 30, 1e-6)
    assert forecast.half_width == pytest.approx(2.045 * design.spread / np.sqrt(30), rel=0.05)


def test_the_plan_finds_the_least_number_of_passes():
    plan = make_plan(DESIGN, noise_of_kind("calm"), margin=0.01)
    first = plan.first
    after = Forecaster(DESIGN, noise_of_kind("calm")).after
    assert after(first.needed).half_width <= 0.01 < after(first.needed - 1).half_width
    assert first.forecast.passes == first.needed


def test_a_width_beyond_reach_is_said_to_be():
    plan = make_plan(replace(DESIGN, bed_length_m=15.0), noise_of_kind("bad"), margin=0.005)
    assert plan.first.needed is None
    assert plan.first.forecast.passes == MOST_PASSES


def standing_track(
    scale: float, *, seconds: int = 300, seed: int = 5, frozen: float = 0.0
) -> Track:
    rng = np.random.default_rng(seed)
    error = gauss_markov(rng, (2, seconds), 1.0, 2.0 * scale, 150.0)
    error += gauss_markov(rng, (2, seconds), 1.0, 0.5 * scale, 10.0)
    error += rng.standard_normal((2, seconds)) * 0.25 * scale
    if frozen:
        kept = np.maximum.accumulate(np.where(rng.random(seconds) < frozen, 0, np.arange(seconds)))
        error = error[:, kept]
    plane = Plane(longitude_deg=-40.0, latitude_deg=44.0)
    longitude, latitude = plane.to_degrees(error[0], error[1])
    return Track(
        time_s=1.8e9 + np.arange(float(seconds)),
        longitude_deg=longitude,
        latitude_deg=latitude,
        name="standing.gpx",
    )


def test_a_standing_phone_tells_how_good_it_is():
    widths = []
    for scale in (0.4, 1.0, 2.0):
        noise = noise_from_track(standing_track(scale))
        assert noise.weight.sum() == pytest.approx(1)
        assert "standing" in noise.about
        widths.append(Forecaster(DESIGN, noise).after(8).std)
    assert widths == sorted(widths)
    assert widths[2] / widths[0] > 2


def test_a_driven_track_tells_how_good_the_phone_is():
    row = ("ordinary", 100.0, 1.0, 4, "whole", "stand")
    ratios = []
    for seed in (1, 2, 3):
        day = simulate_day(scenario_of(row), seed)
        noise = noise_from_track(day.track)
        assert "driving" in noise.about
        truth = Forecaster(DESIGN, drawn_noise(day, noise_of_kind("ordinary"))).after(8).std
        ratios.append(Forecaster(DESIGN, noise).after(8).std / truth)
    assert 0.75 < np.mean(ratios) < 1.3


def test_tracks_that_say_nothing_are_refused():
    with pytest.raises(MeasureError, match=r"standing\.gpx: lasts 59 s; record five minutes"):
        noise_from_track(standing_track(1.0, seconds=60))
    with pytest.raises(MeasureError, match="repeats itself while standing"):
        noise_from_track(standing_track(1.0, frozen=0.95))


def test_designs_out_of_range_are_refused():
    for wrong in (
        {"bed_length_m": 3.0},
        {"speed_m_s": 30.0},
        {"ground_per_turn_m": 80.0},
        {"ground_per_turn_m": float("nan")},
    ):
        with pytest.raises(InputError):
            replace(DESIGN, **wrong)
    with pytest.raises(InputError, match="0 passes"):
        Forecaster(DESIGN, noise_of_kind("calm")).after(0)


def test_the_command_knows_every_kind():
    assert set(PHONES) == set(KINDS)


def plan_command(capsys, *more: str) -> str:
    code = main(["plan", "--bed-length", "300 ft", "--speed", "2 mph", *more])
    assert code == 0
    return capsys.readouterr().out


def test_the_command_answers_in_the_growers_units(capsys):
    us = plan_command(capsys, "--units", "us", "--ground-per-turn", "25 in", "--passes", "6")
    assert us.startswith("Plan: beds of 300 ft at 2.0 mph")
    assert "25.00 in a turn" in us
    assert "6 passes, as you asked, would give ±" in us
    assert "every counted bed taped" in us
    assert "Engine off" in us
    metric = plan_command(capsys, "--phone", "calm")
    assert metric.startswith("Plan: beds of 91.4 m at 3.2 km/h")
    assert "60.0 cm a turn" in metric


def test_the_command_gives_json(capsys):
    found = json.loads(plan_command(capsys, "--json", "--within", "±2 %", "--passes", "4"))
    assert found["kind"] == "plan"
    assert found["within_95"] == pytest.approx(0.02)
    assert found["asked"]["passes"] == 4
    first = found["ways"][0]
    assert first["forecast"]["passes"] == first["passes_needed"]
    assert first["forecast"]["half_width_95"] <= 0.02
    assert sum(first["forecast"]["shares"].values()) == pytest.approx(1)


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (("--within", "soon"), "--within: 'soon' is no percentage"),
        (("--within", "0"), "the figure is wanted within 0 %; it must lie between"),
        (("--speed", "90 km/h"), "a sowing speed of 25 m/s"),
        (("--passes", "0"), "0 passes; plans are made for"),
        (("--turn", "-1"), "a headland turn of -1 s"),
        (("--spread", "30"), "a spread between passes of 30 %"),
        (("--track", "nowhere.gpx"), "nowhere.gpx"),
    ],
)
def test_bad_input_gets_one_line(capsys, more, said):
    code = main(["plan", "--bed-length", "80 m", "--speed", "3 km/h", *more])
    captured = capsys.readouterr()
    assert (code, captured.out) == (2, "")
    assert said in captured.err
    assert len(captured.err.strip().splitlines()) == 1
