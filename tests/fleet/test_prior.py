"""What a fleet teaches, and what a run makes of it. Simulated truth is our own."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from benchmarks.fleet import prior_lines
from made import made_fleet
from scipy.stats import norm

from groundtruth import read_run
from groundtruth.cli.main import main
from groundtruth.core.errors import InputError
from groundtruth.core.fleet_prior import FleetPrior, MachinePrior
from groundtruth.fleet.data_set import open_fleet
from groundtruth.fleet.prior import fleet_prior, machine_prior
from groundtruth.io.fleet_prior import prior_to_json, read_prior
from groundtruth.measurement.measure import measure
from groundtruth.stats.assisted_interval import assisted
from groundtruth.stats.random_effects import NormalMixture

SAMPLE = Path(__file__).parents[2] / "sample_tracks" / "wet-soil" / "run.toml"
MACHINES = MachinePrior(mean=0.0, std=0.02, odd_share=0.1, odd_std=0.1)


def mixture(*parts):
    weight, mean, std = np.array(parts, dtype=float).T
    return NormalMixture(weight=weight, mean=mean, variance=std**2)


def test_the_posterior_is_that_of_a_numerical_integration():
    own, prior = (
        mixture((0.7, 0.03, 0.02), (0.3, 0.04, 0.03)),
        mixture((0.9, 0, 0.02), (0.1, 0, 0.1)),
    )
    found = assisted(own, prior)
    at = np.linspace(-0.6, 0.6, 60_001)
    likelihood = 0.7 * norm.pdf(at, 0.03, 0.02) + 0.3 * norm.pdf(at, 0.04, 0.03)
    parts = [0.9 * norm.pdf(at, 0, 0.02) * likelihood, 0.1 * norm.pdf(at, 0, 0.1) * likelihood]
    total = parts[0] + parts[1]
    mean = (at * total).sum() / total.sum()
    std = (((at - mean) ** 2 * total).sum() / total.sum()) ** 0.5
    assert (found.posterior.value, found.posterior.std) == pytest.approx((mean, std), rel=1e-5)
    assert found.weight[1] == pytest.approx(parts[1].sum() / total.sum(), rel=1e-5)


def test_the_interval_is_that_of_pratt_at_its_two_ends():
    """A prior that is a point at the figure gives ± 1.645 u [Pratt 1961, Journal of the American
    Statistical Association 56:549, from memory]; one that says nothing the usual ± 1.96 u."""
    u = 0.02
    point = mixture((1, 0, 1e-4))
    low, high = assisted(mixture((1, 0, u)), point).interval
    assert (low, high) == pytest.approx((-1.645 * u, 1.645 * u), rel=0.02)
    flat = mixture((1, 0, 10.0))
    low, high = assisted(mixture((1, 0.05, u)), flat).interval
    assert (low, high) == pytest.approx((0.05 - 1.96 * u, 0.05 + 1.96 * u), rel=0.02)


@pytest.mark.parametrize("truth", [0.0, 0.04, 0.08, 0.2])
def test_the_interval_holds_whatever_the_truth(truth):
    """Also where the prior is wrong: 400 draws a truth, 95 % within four standard errors."""
    rng, prior, u = np.random.default_rng(11), mixture((0.9, 0, 0.02), (0.1, 0, 0.1)), 0.02
    hits = 0
    for _ in range(400):
        low, high = assisted(mixture((1, truth + rng.normal(0, u), u)), prior).interval
        hits += low <= truth <= high
    assert abs(hits / 400 - 0.95) < 4 * (0.95 * 0.05 / 400) ** 0.5


def test_machines_are_told_from_odd_ones():
    rng = np.random.default_rng(2)
    odd = rng.random(4000) < 0.15
    variance = rng.uniform(0.005, 0.02, 4000) ** 2
    truth = 0.01 + np.where(odd, rng.normal(0, 0.12, 4000), rng.normal(0, 0.02, 4000))
    found = machine_prior(truth + rng.normal(size=4000) * variance**0.5, variance)
    assert found.mean == pytest.approx(0.01, abs=0.002)
    assert found.std == pytest.approx(0.02, rel=0.1)
    assert found.odd_share == pytest.approx(0.15, abs=0.02)
    assert found.odd_std == pytest.approx(0.12, rel=0.1)


def test_a_fleet_is_learnt_from_its_first_runs(tmp_path):
    with open_fleet(made_fleet(tmp_path)) as fleet:
        prior = fleet_prior(fleet)
    assert (prior.runs, prior.seeders) == (300, 60)
    assert prior.spread_scale == pytest.approx(0.006, rel=0.5)
    assert 0.003 < prior.machines.std < 0.05
    assert prior.machines.odd_std > 0.05


def test_a_small_fleet_teaches_nothing(tmp_path, capsys):
    folder = made_fleet(tmp_path / "small", farms=3, days=1)
    assert main(["fleet", "prior", str(folder), "--out", str(tmp_path / "p.json")]) == 2
    assert "6 runs of 3 passes or more; a prior needs 30" in capsys.readouterr().err
    assert not (tmp_path / "p.json").exists()
    with open_fleet(made_fleet(tmp_path / "middle", farms=10, days=3)) as fleet:
        assert fleet_prior(fleet).machines is None


def test_measuring_with_a_prior_shows_both_figures(tmp_path, capsys):
    file = tmp_path / "prior.json"
    folder = made_fleet(tmp_path / "fleet")
    assert main(["fleet", "prior", str(folder), "--out", str(file)]) == 0
    capsys.readouterr()
    out = tmp_path / "out"
    assert main(["measure", str(SAMPLE), "--prior", str(file), "--out", str(out)]) == 0
    said = capsys.readouterr().out
    assert "With what the fleet knows" in said
    found = json.loads((out / "result.json").read_text(encoding="utf-8"))
    assert found["with_fleet"]["dropped"] in (True, False)
    assert "prior.json" in [one["name"] for one in found["inputs"]]


def test_the_prior_is_dropped_where_the_machine_is_odd_and_helps_where_it_is_not():
    run = read_run(SAMPLE)
    alone = measure(run)
    taught = replace(run, prior=FleetPrior(spread_scale=0.006, machines=MACHINES))
    near = replace(
        taught,
        seeder=replace(run.seeder, ground_per_gear_turn_in_use_m=alone.ground_per_turn.value),
    )
    helped = measure(near)
    low, high = helped.with_fleet.ground_per_turn_95
    assert not helped.with_fleet.dropped
    assert high - low < np.diff(helped.ground_per_turn_95)[0]
    far = replace(
        taught,
        seeder=replace(run.seeder, ground_per_gear_turn_in_use_m=alone.ground_per_turn.value / 1.2),
    )
    odd = measure(far)
    assert odd.with_fleet.dropped
    assert odd.with_fleet.odd > 0.99
    assert odd.with_fleet.ground_per_turn == odd.ground_per_turn
    bare = replace(taught, seeder=replace(run.seeder, ground_per_gear_turn_in_use_m=None))
    assert measure(bare).with_fleet is None


def test_the_file_comes_back_as_it_was(tmp_path):
    prior = FleetPrior(spread_scale=0.0061, machines=MACHINES, runs=30, seeders=40)
    for one in (prior, replace(prior, machines=None)):
        file = tmp_path / "prior.json"
        file.write_text(prior_to_json(one), encoding="utf-8")
        assert read_prior(file) == replace(one, name="prior.json")


GOOD = json.loads(prior_to_json(FleetPrior(spread_scale=0.006, machines=MACHINES)))


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("{", "not a fleet prior"),
        ("[" * 5000, "not a fleet prior"),
        ("NaN", "NaN is not a number"),
        ("{}", "this is no fleet prior"),
        (json.dumps(GOOD | {"schema_version": 2}), "another version"),
        (json.dumps(GOOD | {"spread_scale": 3}), "spread_scale is 3; it must be 0.001 to 0.2"),
        (json.dumps(GOOD | {"spread_scale": "0.01"}), "should be a number"),
        (json.dumps(GOOD | {"machines": []}), "machines is []; it should be an object"),
        (
            json.dumps(GOOD | {"machines": GOOD["machines"] | {"odd_share": 0}}),
            "odd_share is 0; it must be 0.02 to 0.9",
        ),
        (
            json.dumps(GOOD | {"machines": GOOD["machines"] | {"odd_std": 0.03}}),
            "it must be at least 2 times std",
        ),
        (json.dumps(GOOD).replace("0.006", "1e999"), "spread_scale"),
        (" " * 70_000, "is not read"),
    ],
)
def test_a_bad_file_is_refused_in_one_line(text, why, tmp_path, capsys):
    file = tmp_path / "prior.json"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=r"prior\.json") as refused:
        read_prior(file)
    assert why in str(refused.value)
    assert main(["measure", str(SAMPLE), "--prior", str(file), "--out", str(tmp_path / "o")]) == 2
    assert capsys.readouterr().err.count("\n") == 1
    assert not (tmp_path / "o").exists()


@pytest.mark.whole_days
def test_intervals_with_a_prior_hold_for_all_and_for_odd_machines():
    """Over one, two, four and eight passes together, 800 runs each (see benchmarks/fleet.py)."""
    lines = prior_lines(800)
    with_machines = [float(line[4].split("/")[1]) for line in lines]
    odd, count = np.array([[float(line[6]), line[8]] for line in lines]).T
    assert np.mean(with_machines) >= 93
    assert np.average(odd, weights=count) >= 92
