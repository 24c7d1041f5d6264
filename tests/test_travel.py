"""The measurement model against symmetry, at its limits, and on simulated days.

Against dense algebra: test_travel_dense.py.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from groundtruth.core.errors import MeasureError
from groundtruth.estimator import WEAVE, ground_covered, influence, make_stretch, refined_stops
from groundtruth.estimator.batch import batch_of
from groundtruth.estimator.components import GaussMarkov, SmoothedGaussMarkov
from groundtruth.estimator.doppler import working_speeds
from groundtruth.estimator.ground_factors import measured_sinuosity
from groundtruth.estimator.marginal_likelihood import evaluate
from groundtruth.estimator.outlier_blocks import shifted_fixes
from groundtruth.estimator.priors import PARAMETERS, PHONE
from groundtruth.simulation import SCENARIOS, passes_of, simulate_day


def straight_pass(
    *, seed=0, seconds=60, speed=1.2, noise=0.3, heading=0.6, start=1e6, gaps=False, bow=0.0
):
    """Fixes of a steady straight pass with white noise: time, east, north."""
    rng = np.random.default_rng(seed)
    time = np.arange(seconds + 1.0)
    if gaps:
        time = np.sort(rng.choice(time, size=seconds * 2 // 3, replace=False))
    along = speed * time
    across = bow * np.sin(np.pi * time / seconds)
    east = along * np.sin(heading) + across * np.cos(heading)
    north = along * np.cos(heading) - across * np.sin(heading)
    east, north = (v + rng.normal(0, noise, len(time)) for v in (east, north))
    return start + time, east, north


def stretch_of(time, east, north, *, inset=5.0, **more):
    defaults = {
        "speed_m_s": np.full(len(time), np.nan),
        "start_s": time[0] + inset,
        "end_s": time[-1] - inset,
    }
    return make_stretch(time, east, north, **(defaults | more))


def test_doppler_tells_the_speed():
    """With nearly exact speeds the places add little: D = v·T, but for the bias of the day."""
    time, east, north = straight_pass(noise=2.0, seed=3)
    rng = np.random.default_rng(1)
    speed = 1.2 + rng.normal(0, 0.01, len(time))
    plain = ground_covered([stretch_of(time, east, north)])
    aided = ground_covered([stretch_of(time, east, north, speed_m_s=speed)])
    assert aided.doppler
    assert not plain.doppler
    assert aided.covariance_m2[0, 0] < 0.6 * plain.covariance_m2[0, 0]
    assert aided.distance_m[0] == pytest.approx(1.2 * 50, abs=1.2)  # bias of 0.0115 m/s, 50 s: 0.6


def test_a_ruler_straight_pass_is_measured_exactly():
    time, east, north = straight_pass(noise=0.0)
    travel = ground_covered([stretch_of(time, east, north)], receiver="centimetre")
    assert travel.distance_m[0] == pytest.approx(60.0, abs=0.01)
    assert travel.receiver == "centimetre receiver"


def test_straightness_alone_makes_no_centimetre_receiver():
    """Phones that drift by a metre lie straight too; several fixes a second, or the accuracy that
    the receiver reports, have to agree."""
    time, east, north = straight_pass(noise=0.01)
    straight = stretch_of(time, east, north)
    assert ground_covered([straight]).receiver == "phone"
    assert ground_covered([straight]).covariance_m2[0, 0] > 0.3**2
    assert ground_covered([straight]).evidence is None
    for second_witness, evidence in (
        ({"interval_s": 0.2}, "fixes a second"),
        ({"accuracy_m": 0.02}, "reported accuracy"),
        ({"corrected_share": 0.95}, "fix quality"),
    ):
        seen = ground_covered([replace(straight, **second_witness)])
        assert seen.receiver == "centimetre receiver"
        assert seen.evidence == evidence
    assert ground_covered([straight], receiver="centimetre").evidence == "run file"
    assert ground_covered([replace(straight, interval_s=0.2)], receiver="phone").receiver == "phone"
    crooked = stretch_of(*straight_pass(noise=0.5))
    assert ground_covered([replace(crooked, corrected_share=1.0)]).receiver == "phone"


def test_a_late_phone_is_in_doubt_where_the_speed_changes_between_the_marks():
    """0.3 s times the speed gained, alike on every pass; nothing where both ends stand."""
    time = 1e6 + np.arange(80.0)
    place = 1.0 * (time - 1e6) + np.maximum(time - 1e6 - 40, 0) * 0.8
    stretch = stretch_of(time, place, 0 * place, start_s=1e6 + 10, end_s=1e6 + 70)
    assert stretch.gained_speed_m_s() == pytest.approx(0.8, abs=1e-6)
    stood = replace(stretch, stops=((1e6 + 5, 1e6 + 12), (1e6 + 68, 1e6 + 75)))
    assert stood.gained_speed_m_s() == 0


def test_a_short_pass_does_not_pass_for_a_centimetre_receiver():
    """Within seconds a phone's wander is a straight line: that it is smooth tells nothing."""
    time, east, north = straight_pass(seconds=20, noise=0.03)
    travel = ground_covered([stretch_of(time, east, north, inset=2.0)])
    assert travel.receiver == "phone"
    assert travel.covariance_m2[0, 0] > 0.3**2


@pytest.mark.parametrize("seed", range(3))
def test_heading_place_and_time_of_day_do_not_matter(seed):
    one = ground_covered([stretch_of(*straight_pass(seed=seed, heading=0.0))])
    time, east, north = straight_pass(seed=seed, heading=0.0)
    turned = (north + 5e3, -east - 2e3)
    other = ground_covered([stretch_of(time + 12_345.0, *turned)])
    assert_allclose(other.distance_m, one.distance_m, rtol=1e-6)
    assert_allclose(other.covariance_m2, one.covariance_m2, rtol=1e-4)


def test_driven_backwards_is_as_far():
    time, east, north = straight_pass(seed=5)
    back = (time[0] + time[-1] - time[::-1], east[::-1], north[::-1])
    forth_m = ground_covered([stretch_of(time, east, north)]).distance_m[0]
    back_m = ground_covered([stretch_of(*back)]).distance_m[0]
    assert back_m == pytest.approx(forth_m, abs=0.1)


def test_twice_the_size_is_twice_the_ground_but_not_half_the_doubt():
    near = ground_covered([stretch_of(*straight_pass(seconds=60, seed=2))])
    far = ground_covered([stretch_of(*straight_pass(seconds=120, seed=2), inset=10.0)])
    assert far.distance_m[0] == pytest.approx(2 * near.distance_m[0], rel=0.03)
    relative = np.sqrt([t.covariance_m2[0, 0] for t in (near, far)]) / (60, 120)
    assert relative[1] < relative[0]


def test_four_fixes_are_enough_and_three_are_refused():
    time, east, north = straight_pass(seconds=3, noise=0.5, speed=8)
    wide = ground_covered([stretch_of(time, east, north, inset=0.0)])
    assert np.sqrt(wide.covariance_m2[0, 0]) > 0.5
    with pytest.raises(MeasureError, match="3 different fixes; at least 4"):
        stretch_of(time[:3], east[:3], north[:3], inset=0.0)


def test_repeated_positions_are_no_observations():
    time, east, north = straight_pass(seconds=20)
    frozen = stretch_of(
        np.append(time, time[-1] + np.arange(1.0, 9.0)),
        np.append(east, np.full(8, east[-1])),
        np.append(north, np.full(8, north[-1])),
    )
    assert frozen.used.sum() == len(time)


def test_many_fixes_at_a_high_rate_are_averaged_a_second_at_a_time():
    """Means of fixes on a line lie on it, at the mean of their instants."""
    time = 1e6 + np.arange(0.0, 80.0, 0.2)
    speed = np.where(np.arange(400) < 100, np.nan, 1.2)
    thin = stretch_of(time, 1.2 * (time - 1e6), np.zeros(400), speed_m_s=speed)
    assert len(thin.time_s) == 80
    assert thin.used.all()
    assert_allclose(thin.along_m - thin.along_m[0], 1.2 * (thin.time_s - thin.time_s[0]), atol=1e-6)
    assert_allclose(thin.speed_m_s, np.where(np.arange(80) < 20, np.nan, 1.2))
    slow = 1e6 + np.arange(400.0)
    assert len(stretch_of(slow, slow, np.zeros(400)).time_s) == 400


@pytest.mark.parametrize("speed", [0.0, 0.02])
def test_standing_still_covers_no_ground(speed):
    """As good as no speed: a track recorded standing is measured like any pass."""
    travel = ground_covered([stretch_of(*straight_pass(seconds=200, speed=speed, noise=0.5))])
    u = travel.covariance_m2[0, 0] ** 0.5
    assert abs(travel.distance_m[0] - speed * 190) < 3 * u
    assert 0.1 < u < 4


def test_standing_between_the_marks_all_the_time_is_refused():
    time, east, north = straight_pass(seconds=20)
    with pytest.raises(MeasureError, match="stood still all the time"):
        stretch_of(time, east, north, stops=((time[0] - 5, time[-1] + 5),))


def test_the_clock_stops_with_the_tractor_and_ramps_cost_half_their_time():
    time, east, north = straight_pass(seconds=40)
    stop = (time[0] + 15, time[0] + 25)
    stretch = stretch_of(time, east, north, stops=(stop,), inset=5.0)
    clock = stretch.under_way_s(np.array([stop[0], stop[1], time[0] + 35]))
    assert_allclose(clock, [10, 10, 20])
    ramp = np.array([4.0])
    instants = np.array([time[0], stop[0], time[0] + 35])
    before, inside, after = stretch.ramp_loss_s(instants, ramp)[:, 0]
    # constant acceleration to speed v in r seconds covers v·r/2 (Galilei's mean speed theorem)
    assert (before, inside, after) == pytest.approx((0, 2, 4))


def two_stops(hop_s, *, seed=0):
    """Two stands of 20 s with a short move between them: time, east, north, stops seen, way."""
    time = np.arange(200.0)
    edges = np.cumsum([80, 20, hop_s, 20])
    moving = (np.searchsorted(edges, time, side="right") % 2 == 0).astype(float)
    way = np.append(0.0, np.cumsum(1.2 * (moving[1:] + moving[:-1]) / 2))
    rng = np.random.default_rng(seed)
    east, north = way + rng.normal(0, 0.3, len(time)), rng.normal(0, 0.3, len(time))
    stops = tuple((1e6 + a + 1, 1e6 + b - 1) for a, b in edges.reshape(2, 2))
    return 1e6 + time, east, north, stops, way


@pytest.mark.parametrize("hop_s", [2, 4, 8])
def test_a_short_move_between_two_stops_is_not_carried_past_either(hop_s):
    """The working line after the second stop says nothing of when the first one was left."""
    time, east, north, seen, way = two_stops(hop_s)
    stops = refined_stops(time, east, north, seen)
    assert stops[0][1] <= stops[1][0]
    assert_allclose(stops, seen, atol=2.5)
    stretch = stretch_of(time, east, north, stops=stops, inset=10.0)
    travel = ground_covered([stretch])
    assert abs(travel.distance_m[0] - (way[189] - way[10])) < 3 * travel.covariance_m2[0, 0] ** 0.5


def test_stops_that_overlap_count_once():
    time, east, north = straight_pass(seconds=60)
    begin = time[0]
    stops = ((begin + 28, begin + 40), (begin + 20, begin + 30))
    stretch = stretch_of(time, east, north, stops=stops)
    assert stretch.stops == ((begin + 20, begin + 40),)
    assert np.diff(stretch.under_way_s(time)).min() == 0
    assert stretch.driven_s == 30


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("first", [0, 30, 75])
def test_a_shifted_block_is_found_and_left_out(seed, first):
    """Also at either end of the pass, where the rest might as well be the one that moved."""
    time, east, north = straight_pass(seed=seed, seconds=80)
    east, north = east.copy(), north.copy()
    east[first : first + 6] += 5.0
    north[first : first + 6] -= 4.0
    stretch = stretch_of(time, east, north)
    parameters = PHONE.values(np.zeros((len(PARAMETERS), 1)))[:, 0]
    parameters[PARAMETERS.index("white_m")] = 0.3
    found = shifted_fixes(influence.influence_and_steps(stretch, parameters, doppler=False)[1])
    assert set(range(first, first + 6)) <= set(np.flatnonzero(found))
    assert found.sum() <= 10
    travel = ground_covered([stretch])
    assert travel.set_aside[0] >= 6
    assert abs(travel.distance_m[0] - 1.2 * 70) < 4 * travel.covariance_m2[0, 0] ** 0.5


def test_weights_are_the_derivative_of_the_ground():
    """Moving one fix along the axis by δ changes D by its weight times δ: the model is linear."""
    stretch = stretch_of(*straight_pass(seed=8, seconds=30))
    parameters = PHONE.values(np.zeros((len(PARAMETERS), 1)))
    weight = influence.influences([stretch], parameters[:, 0], doppler=False)[0].weight
    line = batch_of([stretch], doppler=False)
    at = evaluate([line], parameters, doppler=False).mean[0, 0]
    for i in (0, 7, 29):
        moved = stretch.along_m.copy()
        moved[i] += 0.01
        # the working speed enters the noise of the driving: moving a fix very little keeps it
        line = batch_of([replace(stretch, along_m=moved)], doppler=False)
        shifted = evaluate([line], parameters, doppler=False)
        assert (shifted.mean[0, 0] - at) / 0.01 == pytest.approx(weight[i], abs=2e-3)
    # moving the whole pass changes nothing, but for the prior that keeps it within 30 km
    assert weight.sum() == pytest.approx(0, abs=1e-7)


def test_passes_of_one_day_share_errors():
    """To and fro, neighbouring ends see the same slow wander: the errors add up."""
    passes = passes_of(simulate_day(SCENARIOS["ordinary phone"], 4))[:3]
    stretches = [
        make_stretch(
            p.time_s,
            p.east_m,
            p.north_m,
            p.speed_m_s,
            stops=[s for s in (p.truth.stood_start, p.truth.stood_end) if s],
            start_s=p.mark_s[0],
            end_s=p.mark_s[1],
        )
        for p in passes
    ]
    travel = ground_covered(stretches)
    assert_allclose(travel.covariance_m2, travel.covariance_m2.T)
    assert np.linalg.eigvalsh(travel.covariance_m2).min() > 0
    assert travel.covariance_m2[0, 1] > 0
    for p, d, u in zip(passes, travel.distance_m, np.diag(travel.covariance_m2), strict=True):
        assert abs(d - p.ground_m) < 4 * u**0.5  # our own simulated truth


@pytest.mark.parametrize("smooth", [False, True])
@pytest.mark.parametrize("apart", [0, 1, 40])
def test_covariance_between_passes_is_the_double_sum_over_both(apart, smooth, monkeypatch):
    """Also where one fix ends one pass and begins the next: there they share the most."""
    shared_by = GaussMarkov("slow_m", "slow_s")
    if smooth:
        shared_by = SmoothedGaussMarkov("slow_m", "slow_s", "rise_s")
    monkeypatch.setattr(influence, "SHARED_BY_PASSES", (shared_by,))
    time, east, north = straight_pass(seconds=160, seed=1)
    halves = slice(0, 81), slice(80 + apart, None)
    stretches = [stretch_of(time[h], east[h], north[h], inset=0.0) for h in halves]
    values = PHONE.values(np.random.default_rng(2).normal(0, 0.5, (len(PARAMETERS), 3)))
    weight = np.array([0.2, 0.3, 0.5])
    one, two = influence.influences(stretches, values[:, 0], doppler=False)
    shared = influence.covariance_between_passes(stretches, [one, two], values, weight)
    lapse = np.abs(one.time_s[:, None] - two.time_s)
    sigma, tau, rise = (values[PARAMETERS.index(name)] for name in ("slow_m", "slow_s", "rise_s"))
    rise = rise if smooth else np.full(3, 1e-20)
    between = weight @ [
        s**2 * one.weight @ (t * np.exp(-lapse / t) - r * np.exp(-lapse / r)) @ two.weight / (t - r)
        for s, t, r in zip(sigma, tau, rise, strict=True)
    ]
    if not smooth:  # what the error adds to one half it takes from the other
        assert between < 0
    cosine = stretches[0].axis.along(stretches[1].axis.east, stretches[1].axis.north)
    assert_allclose(shared, cosine * between * (1 - np.eye(2)), rtol=1e-9)


def test_no_pass_is_refused():
    with pytest.raises(MeasureError, match="no pass"):
        ground_covered([])


def test_timed_turns_are_the_clock_of_uneven_driving():
    """A wheel that turns with the ground follows the speed, so uneven driving costs nothing."""
    time, _, _ = straight_pass(seconds=80)
    rng = np.random.default_rng(11)
    speed = 1.0 + 0.5 * np.sin((time - time[0]) / 9.0)
    along = np.concatenate([[0.0], np.cumsum((speed[1:] + speed[:-1]) / 2)])
    east = along + rng.normal(0, 0.5, len(time))
    north = rng.normal(0, 0.5, len(time))
    turn_m = 0.7
    turns = np.arange(0, int(along[-1] / turn_m))
    instants = np.interp(turns * turn_m, along, time)
    marks = {"start_s": instants[0], "end_s": instants[-1]}
    timed = ground_covered([stretch_of(time, east, north, wheel=(instants, turns), **marks)])
    plain = ground_covered([stretch_of(time, east, north, **marks)])
    true_m = turns[-1] * turn_m
    assert abs(timed.distance_m[0] - true_m) < 3 * timed.covariance_m2[0, 0] ** 0.5
    assert timed.covariance_m2[0, 0] < plain.covariance_m2[0, 0]


@pytest.mark.parametrize("stood_s", [0, 30])
def test_doppler_speeds_agree_with_timed_turns_across_a_stop(stood_s):
    """The clock of the turns must not spread the standing over the way: speeds know nothing of
    it."""
    time = np.arange(160.0)
    moving = ((time < 60) | (time >= 60 + stood_s)).astype(float)
    way = np.append(0.0, np.cumsum((moving[1:] + moving[:-1]) / 2))
    rng = np.random.default_rng(3)
    east, north = way + rng.normal(0, 0.5, len(time)), rng.normal(0, 0.5, len(time))
    fine = np.arange(0, 159, 0.01)
    turns = np.arange(1, int(way[-1] / 0.7))
    instants = 1e6 + fine[np.searchsorted(np.interp(fine, time, way), turns * 0.7)]
    stretch = stretch_of(
        1e6 + time,
        east,
        north,
        speed_m_s=np.abs(moving + rng.normal(0, 0.06, len(time))),
        stops=((1e6 + 60, 1e6 + 60 + stood_s),) if stood_s else (),
        start_s=instants[0],
        end_s=instants[-1],
        wheel=(instants, turns),
    )
    assert stretch.rough_speed_m_s == pytest.approx(1.0, abs=0.03)
    travel = ground_covered([stretch])
    true_m = 0.7 * (len(turns) - 1)
    assert abs(travel.distance_m[0] - true_m) < 2.5
    assert travel.doppler


def test_doppler_speeds_are_taken_to_the_pace_of_timed_turns():
    """Of uneven driving the turns tell all: what is left is metres per second of their clock."""
    time = np.arange(120.0)
    speed = 1.2 * (1 + 0.3 * np.sin(time / 12))
    way = np.append(0.0, np.cumsum((speed[1:] + speed[:-1]) / 2))
    fine = np.arange(0, 119, 0.01)
    turns = np.arange(0, int(way[-1] / 0.7))
    instants = fine[np.searchsorted(np.interp(fine, time, way), turns * 0.7)]
    stretch = stretch_of(
        time,
        way,
        np.zeros(120),
        speed_m_s=speed,
        start_s=instants[0],
        end_s=instants[-1],
        wheel=(instants, turns),
    )
    (settled,) = working_speeds([stretch], doppler=True)
    assert_allclose(settled.speed_m_s, stretch.rough_speed_m_s, rtol=0.07)
    (plain,) = working_speeds([replace(stretch, wheel=None)], doppler=True)
    assert_allclose(plain.speed_m_s, stretch.speed_m_s)


@pytest.mark.parametrize("fixes", [0, 1, 2])
def test_too_few_places_between_the_marks_tell_no_winding(fixes):
    """Marks between two fixes, or one fix between them: a receiver that writes every 5 s."""
    assert measured_sinuosity(np.arange(float(fixes)), np.zeros(fixes)) == WEAVE
    time = 1e6 + np.arange(0.0, 100.0, 5.0)
    rng = np.random.default_rng(0)
    east, north = 1.2 * (time - 1e6) + rng.normal(0, 0.01, 20), rng.normal(0, 0.01, 20)
    marks = {"start_s": time[8] + 1.0, "end_s": time[8 + fixes] + 2.0}
    travel = ground_covered([stretch_of(time, east, north, **marks)], receiver="centimetre")
    assert travel.receiver == "centimetre receiver"
    assert travel.sinuosity == (WEAVE,)


def test_a_pass_with_its_fixes_in_standing_gets_a_wide_answer():
    """Fixes lost all along the way: only the two stands are left, and no curve can be fitted."""
    time = 1e6 + np.concatenate([np.arange(4.0), 100 + np.arange(4.0)])
    rng = np.random.default_rng(2)
    east = np.where(time < 1e6 + 50, 0.0, 96.0) + rng.normal(0, 0.3, len(time))
    stops = ((time[0] - 5, time[3]), (time[4], time[-1] + 5))
    stretch = stretch_of(time, east, rng.normal(0, 0.3, len(time)), stops=stops, inset=0.0)
    travel = ground_covered([stretch])
    u = travel.covariance_m2[0, 0] ** 0.5
    assert abs(travel.distance_m[0] - 96) < 3 * u
    assert 0.5 < u < 10
    assert travel.sinuosity[0].relative < 0.05
