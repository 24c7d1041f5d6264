"""Slip along a pass with timed turns, on simulated days whose wet spots are ours."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from groundtruth.core.run import Run
from groundtruth.core.turns import TurnReadings, TurnSheet
from groundtruth.measurement.measure import measure
from groundtruth.measurement.slip_along import MOST_STD, slip_along
from groundtruth.season import add_run, reading
from groundtruth.season.query import read_season
from groundtruth.simulation import SCENARIOS, FieldLayout, Phone, simulate_day
from groundtruth.views.map.season_data import season_map_data

PER_TURN_M = 0.62


def day_with_a_spot(phone, *, spot=(0.6, 1.0), extra=0.12, seed=5):
    """Turns timed by a switch: between the shares ``spot`` of each pass the wheel slips more."""
    scenario = replace(
        SCENARIOS["turns timed"],
        field=FieldLayout(passes=(4, 4), bed_length_m=(150, 150), drive_m=(150, 200)),
        phone=phone,
    )
    day = simulate_day(scenario, seed)
    times, counts, so_far = [], [], 0.0
    for p in day.passes:
        start = np.interp(p.start_s, day.path.time_s, day.path.ground_m)
        ground = np.linspace(0, p.ground_m, 4000)
        share = ground / p.ground_m
        rate = np.where((share >= spot[0]) & (share < spot[1]), 1 - extra, 1.0) / PER_TURN_M
        turned = np.concatenate([[0], np.cumsum((rate[1:] + rate[:-1]) / 2 * np.diff(ground))])
        whole = np.arange(1, int(turned[-1]) + 1)
        at = start + np.interp(whole, turned, ground)
        k = np.clip(np.searchsorted(day.path.ground_m, at), 1, len(day.path.ground_m) - 1)
        g0, g1 = day.path.ground_m[k - 1], day.path.ground_m[k]
        part = (at - g0) / np.maximum(g1 - g0, 1e-9)
        times.append(day.path.time_s[k - 1] + part * np.diff(day.path.time_s)[k - 1])
        counts.append(so_far + whole)
        so_far += len(whole)
    readings = TurnReadings(
        unit="1",
        time_s=np.round(np.concatenate(times), 2),
        turns=np.concatenate(counts).astype(float),
        at_each_turn=True,
    )
    sheet = TurnSheet(name="turns.csv", readings=(readings,))
    return Run(name="spot", track=day.track, turns=sheet, seeder=day.seeder)


GOOD = Phone(
    rate_hz=1.0, slow_m=(0.05, 0.1), fast_m=(0.02, 0.05), rise_s=(0, 0), white_m=(0.02, 0.05),
    corrections_per_minute=(0, 0), late_share=(0, 0), frozen_share=(0, 0),
    coordinate_steps_deg=(1e-8,),
)  # fmt: skip


@pytest.mark.whole_days
def test_a_wet_spot_shows_with_a_good_receiver():
    run = day_with_a_spot(GOOD)
    parts = slip_along(run, measure(run))
    assert parts
    per_pass = {n: [p for p in parts if p.number == n] for n in {p.number for p in parts}}
    assert len({len(v) for v in per_pass.values()}) == 1
    for found in per_pass.values():
        total = found[-1].to_m
        wet = [p for p in found if p.from_m / total >= 0.6]
        dry = [p for p in found if p.to_m / total <= 0.6]
        assert wet
        for p in wet:
            truth = PER_TURN_M / 0.88
            assert p.ground_per_turn.value == pytest.approx(
                truth, abs=4 * p.ground_per_turn.std + 0.01
            )
        assert np.mean([p.ground_per_turn.value for p in wet]) > 1.07 * np.mean(
            [p.ground_per_turn.value for p in dry]
        )
        assert all(b.from_m == pytest.approx(a.to_m) for a, b in pairwise(found))


@pytest.mark.whole_days
def test_parts_are_no_finer_than_the_phone_allows():
    """An ordinary phone gets longer parts than a good receiver, or none; what is said is known to
    about 2.5 % in the middle."""
    good = day_with_a_spot(GOOD)
    usual = day_with_a_spot(SCENARIOS["ordinary phone"].phone)
    fine, coarse = (slip_along(run, measure(run)) for run in (good, usual))
    assert len(fine) > len(coarse)
    for parts in (fine, coarse):
        if parts:
            assert np.median([p.ground_per_turn.relative for p in parts]) < 1.3 * MOST_STD


def test_without_timed_turns_nothing_is_said():
    day = simulate_day(SCENARIOS["one pass"], 3)
    run = Run(name="plain", track=day.track, turns=day.sheet, seeder=day.seeder)
    assert slip_along(run, measure(run)) == ()


@pytest.mark.whole_days
def test_the_record_keeps_the_parts(season):
    run = day_with_a_spot(GOOD)
    result = measure(run)
    parts = slip_along(run, result)
    add_run(season, result, along=parts)
    with reading(season) as db:
        rows = db.execute(
            "SELECT p.number, s.from_m, s.to_m, s.ground_per_turn_m FROM slip_along s"
            " JOIN passes p ON p.id = s.pass_id ORDER BY s.id"
        ).fetchall()
    assert rows == [(p.number, p.from_m, p.to_m, p.ground_per_turn.value) for p in parts]


@pytest.mark.whole_days
def test_the_map_shows_the_wet_end_of_each_pass(season):
    """Every pass slips more on its last 40 %; passes are driven to and fro."""
    run = day_with_a_spot(GOOD)
    result = measure(run)
    add_run(season, result, along=slip_along(run, result))
    found = read_season(season)
    assert {s.sowing for s in found.strip_parts} == set(range(4))
    ways = {line.number: line.axis for line in result.lines}
    for i, sowing in enumerate(found.sowings):
        mine = [s for s in found.strip_parts if s.sowing == i]
        start, end = ways[sowing.number]
        for part in mine:
            lon, lat = part.outline.centroid.coords[0]
            share = np.dot(np.subtract((lon, lat), start), np.subtract(end, start)) / np.sum(
                np.square(np.subtract(end, start))
            )
            if abs(share - 0.6) > 0.1:
                assert (part.slip.value > 0.08) == (share > 0.6), (sowing.number, share)
    data = season_map_data(found, "metric")
    assert data["modes"][-1]["name"] == "Slip along the pass"
    strips = {s["strip"] for s in data["parts"]}
    assert strips == set(range(4))
    classes = [s["class"] for s in data["parts"]]
    assert max(classes) >= 3 > min(classes)
