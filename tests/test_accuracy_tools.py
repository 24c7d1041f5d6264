"""The tools of the accuracy benchmark: its bound by brute force, its methods on exact passes."""

from __future__ import annotations

import json

import numpy as np
import pytest
from benchmarks import accuracy, methods
from benchmarks.bound import bound, ramp
from benchmarks.cases import Case, cases_of
from benchmarks.page import markers, write_between
from benchmarks.tables import BEST, report
from numpy.testing import assert_allclose

from groundtruth.core.plane import Plane
from groundtruth.simulation.noise import gauss_markov, low_pass, smoothed_gauss_markov

pytestmark = pytest.mark.whole_days

DT = 0.1


def brute_force_std(case: Case, *, draws: int) -> float:
    """Spread of the best estimate's error, from draws of the simulator's own random processes.

    Covariances of fixes and ground are taken from the draws; given them the best unbiased estimate
    with free place and speed is linear (Rasmussen & Williams, *Gaussian Processes for Machine
    Learning*, 2.41-2.42, from memory).
    """
    drawn, motion = case.simulated.phone, case.simulated.motion
    rng = np.random.default_rng(11)
    begin = np.floor(case.time_s[0] - 20)
    time = begin + DT * np.arange(int((case.time_s[-1] - begin) / DT) + 11)
    steps = len(time)
    rolling = ramp(case, time - DT / 2)
    wander = gauss_markov(
        rng, (draws, steps), DT, motion.speed_variation, motion.speed_variation_time_s
    )
    strayed = np.cumsum(motion.speed_m_s * rolling * wander, axis=1) * DT
    clock = np.cumsum(rolling) * DT
    seen = strayed + gauss_markov(rng, (draws, steps), DT, drawn.slow_m, drawn.slow_time_s)
    seen += smoothed_gauss_markov(
        rng, (draws, steps), DT, drawn.fast_m, drawn.fast_time_s, drawn.rise_s
    )
    steady = clock
    if drawn.lag_s > 0:
        inner = rng.standard_normal((draws, steps // 10 + 1)) * drawn.inner_white_m
        seen = low_pass(
            seen + np.repeat(inner, 10, axis=1)[:, :steps], DT, drawn.lag_s, drawn.poles
        )
        steady = low_pass(clock, DT, drawn.lag_s, drawn.poles)
    used = ~(case.repeated | case.shifted)
    at = np.round((case.time_s[used] - begin) / DT).astype(int)
    fixes = seen[:, at]
    ground = [np.interp(t, time, np.arange(steps)) for t in (case.start_s, case.end_s)]
    ends = [np.array([np.interp(k, np.arange(steps), row) for row in strayed]) for k in ground]
    stray = ends[1] - ends[0]
    duration = np.interp(ground[1], np.arange(steps), clock) - np.interp(
        ground[0], np.arange(steps), clock
    )
    angle = np.radians(case.simulated.truth.axis_deg)
    rounded = drawn.coordinate_step_deg * 111_200 / np.sqrt(12)
    narrow = np.cos(np.radians(case.latitude_deg[0]))
    white = drawn.white_m**2 + rounded**2 * ((narrow * np.sin(angle)) ** 2 + np.cos(angle) ** 2)
    joint = np.cov(np.column_stack([fixes, stray]).T)
    inverse = np.linalg.inv(joint[:-1, :-1] + white * np.eye(len(at)))
    cross = joint[:-1, -1]
    design = np.column_stack([np.ones(len(at)), steady[at]])
    free = np.array([0.0, duration]) - design.T @ inverse @ cross
    variance = joint[-1, -1] - cross @ inverse @ cross
    variance += free @ np.linalg.solve(design.T @ inverse @ design, free)
    return float(np.sqrt(variance))


@pytest.mark.parametrize(
    ("scenario", "seed"),
    [("low rate", 3), ("one in ten", 8), ("smoothing phone", 4), ("rolling lift", 2)],
)
def test_the_bound_is_what_brute_force_gives(scenario, seed):
    _, cases = cases_of(scenario, seed, passes=1)
    case = min(cases, key=lambda c: c.end_s - c.start_s)
    # 3000 draws know a variance to 3 %; inverting an estimated covariance adds as much again
    assert_allclose(bound([case]).std_m[0], brute_force_std(case, draws=3000), rtol=0.05)


@pytest.mark.parametrize("scenario", ["ordinary phone", "smoothing phone", "doppler", "multipath"])
def test_the_best_estimate_errs_as_the_bound_says(scenario):
    z = []
    for seed in range(30):
        _, cases = cases_of(scenario, seed, passes=6)
        best = bound(cases)
        z.append((best.mean_m - [c.ground_m for c in cases]) / best.std_m)
    assert 0.85 < np.sqrt(np.mean(np.square(z))) < 1.15
    assert abs(np.mean(z)) < 0.3


def exact_case(*, speed_m_s=1.25, seconds=80, heading_deg=30.0) -> Case:
    """A pass at even speed without any error, the marks on fixes, no standing."""
    time = np.arange(seconds + 1.0)
    along, angle = speed_m_s * time, np.radians(heading_deg)
    east, north = along * np.sin(angle), along * np.cos(angle)
    longitude, latitude = Plane(longitude_deg=-41.0, latitude_deg=47.0).to_degrees(east, north)
    nothing = np.zeros(len(time), dtype=bool)
    return Case(
        time_s=1.8e9 + time,
        east_m=east,
        north_m=north,
        height_m=np.full(len(time), np.nan),
        speed_m_s=np.full(len(time), speed_m_s),
        longitude_deg=longitude,
        latitude_deg=latitude,
        shifted=nothing,
        repeated=nothing,
        corrected_m=np.zeros((2, len(time))),
        start_s=1.8e9,
        end_s=1.8e9 + seconds,
        stops=(),
        ground_m=speed_m_s * seconds,
        simulated=None,
    )


@pytest.mark.parametrize("name", sorted(methods.OTHERS))
def test_every_method_measures_an_exact_pass(name):
    case = exact_case()
    found, _ = methods.OTHERS[name](case)
    # the library measures on a sphere, up to 0.7 % off; averages end half a window short
    share = {"library length (gpxpy length_2d)": 0.007, "hand-set Kalman smoother": 0.01}
    if "average" in name:
        assert found == pytest.approx(case.ground_m - 1.25 * 5, rel=0.01)
    else:
        assert found == pytest.approx(case.ground_m, rel=share.get(name, 1e-6))


def test_the_smoother_is_the_dense_solution():
    """Same prior, same data, as one system of equations (Rasmussen & Williams, 2.25-2.26)."""
    rng = np.random.default_rng(4)
    case = exact_case(seconds=40)
    along = case.east_m * np.sin(np.radians(30)) + case.north_m * np.cos(np.radians(30))
    noisy = along + rng.normal(0, 2, len(along))
    angle = np.radians(30)
    shown = {"east_m": noisy * np.sin(angle), "north_m": noisy * np.cos(angle)}
    case = Case(**{f: shown.get(f, getattr(case, f)) for f in Case.__slots__})
    time = case.time_s - case.time_s[0]
    low, high = np.minimum.outer(time, time), np.maximum.outer(time, time)
    prior = 100 + 4 * np.outer(time, time) + 0.05 * (low**3 / 3 + low**2 * (high - low) / 2)
    solved = prior @ np.linalg.inv(prior + 9 * np.eye(len(time)))
    mean = noisy[0] + solved @ (noisy - noisy[0])
    var = np.diag(prior - solved @ prior)
    found, std = methods.hand_set_smoother(case)
    assert found == pytest.approx(mean[-1] - mean[0], abs=1e-4)
    assert std == pytest.approx(np.sqrt(var[0] + var[-1]), rel=1e-5)


def test_a_day_gives_every_method_and_tables():
    record = json.loads(json.dumps(accuracy.measure_day(("one in ten", 0, 4, 1))))
    assert set(record["methods"]) == {
        *methods.OTHERS,
        accuracy.ALONE,
        accuracy.DAY,
        BEST,
    } - {"Doppler integral"}
    assert len(record["ground_m"]) == 4
    assert set(record["pooled"]) == {"2", "4"}
    text = report([record])
    assert "one in ten" in text
    assert "sum of segments" in text
    lines = [line for line in text.splitlines() if line.startswith("|")]
    assert all(line.count("|") > 3 for line in lines)
    again = accuracy.measure_day(("one in ten", 0, 4, 1))
    for name, values in record["methods"].items():
        assert_allclose(again["methods"][name]["m"], values["m"], err_msg=name)


def test_tables_go_between_the_markers_only(tmp_path):
    page = tmp_path / "page.md"
    begin, end = markers("some table")
    page.write_text(f"before\n{begin}\nold\n{end}\nafter\n", encoding="utf-8")
    write_between(page, "new", "some table")
    assert page.read_text(encoding="utf-8") == f"before\n{begin}\n\nnew\n\n{end}\nafter\n"
    page.write_text("no markers", encoding="utf-8")
    with pytest.raises(SystemExit, match="markers"):
        write_between(page, "new", "some table")
