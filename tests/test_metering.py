"""Bench counts, the setting curve and the checks. Simulated truth is ours (see benches.py)."""

import numpy as np
import pytest
from benches import seeds_falling, simulated_bench
from scipy import stats

from groundtruth.core.errors import InputError, MeasureError, SeederError
from groundtruth.core.measured import Measured
from groundtruth.seeding import (
    BenchCount,
    Dispersion,
    acceptance_range,
    chance_inside,
    dispersion_of,
    more_turns_to_tell_apart,
    setting_curve,
    setting_figure,
    settings_in_order,
    turning_notices,
    turns_for_count,
    turns_per_minute,
    weighed_seeds,
)
from groundtruth.stats.intervals import count_limits

RATES = {"1": 14.0, "2": 21.0, "3": 30.0}


def catch(setting, turns, seeds, **more):
    return BenchCount(
        crop="chard", seed_lot="", setting=setting, turns=turns, seeds=Measured(seeds), **more
    )


def test_seeds_per_turn_by_hand():
    """150 and 162 seeds in 6 turns each: 26 seeds a turn; χ² = 2·6²/156 on one repeat."""
    counts = [catch("A", 6, 150), catch("A", 6, 162)]
    figure = setting_figure(counts, Dispersion(factor=1.0, degrees_of_freedom=0))
    assert (figure.seeds_per_turn.value, figure.turns, figure.catches) == (26, 12, 2)
    assert figure.seeds_per_turn.std == pytest.approx(312**0.5 / 12)
    more = [*counts, catch("B", 3, 90), catch("B", 3, 96)]
    assert dispersion_of(more).factor == pytest.approx((2 * 36 / 156 + 2 * 9 / 93) / 2)
    assert dispersion_of(more).degrees_of_freedom == 2


def test_dispersion_is_assumed_without_repeats():
    found = dispersion_of([catch("A", 6, 150), catch("B", 6, 190)])
    assert found.assumed
    assert found.factor == 1


def test_score_limits_solve_their_equation():
    """The ends m satisfy (n − m)² = t²·φ·m."""
    spread = Dispersion(factor=2.2, degrees_of_freedom=6)
    for end in count_limits(80, spread):
        t = stats.t.ppf(0.975, 6)
        assert (80 - end) ** 2 == pytest.approx(t**2 * 2.2 * end)


@pytest.mark.parametrize("dispersion", [0.4, 1.0, 2.5])
def test_interval_holds(dispersion):
    """400 seeded benches of three settings, three catches each: 92 to 98 % hold the truth."""
    rng = np.random.default_rng(int(10 * dispersion))
    hits = 0
    for _ in range(400):
        counts = simulated_bench(rng, RATES, dispersion=dispersion)
        figure = setting_figure(counts[3:6], dispersion_of(counts))
        low, high = figure.seeds_per_turn_95
        hits += low <= RATES["2"] <= high
    assert 0.92 <= hits / 400 <= 0.98


@pytest.mark.whole_days
@pytest.mark.parametrize("dispersion", [0.4, 1.0, 2.5])
def test_acceptance_range_holds_its_error_rate(dispersion):
    """400 seeded benches: a new count from the same seeder falls outside as often as stated.

    The margin is three binomial standard deviations; the benchmark has the sharper test.
    """
    rng = np.random.default_rng(100 + int(10 * dispersion))
    outside, stated = 0, 0.0
    for _ in range(400):
        curve = setting_curve(simulated_bench(rng, RATES, dispersion=dispersion))
        check = acceptance_range(curve.draws[:, 1], curve.dispersion_draws, 5)
        count = seeds_falling(rng, 5 * RATES["2"], dispersion)
        outside += not check.low <= count <= check.high
        stated += check.false_alarm
    assert stated / 400 == pytest.approx(0.05, abs=0.005)
    assert abs(outside / 400 - 0.05) < 3 * (0.05 * 0.95 / 400) ** 0.5


def test_curve_never_falls():
    """Each draw is monotone, also where the counts are not."""
    curve = setting_curve([catch("1", 5, 100), catch("2", 5, 92), catch("3", 5, 140)])
    assert (np.diff(curve.draws, axis=1) >= -1e-12).all()
    assert curve.order_broken
    assert curve.seeds_per_turn(0).value <= curve.seeds_per_turn(1).value


def test_untried_setting_lies_between():
    """Nothing is known but the order: mean halfway, and the whole gap is possible."""
    curve = setting_curve([catch("1", 50, 1000), catch("3", 50, 2000)], ("1", "2", "3", "4"))
    middle = curve.seeds_per_turn(1)
    assert curve.tried[1] is None
    assert middle.value == pytest.approx(30, abs=0.6)
    assert middle.std == pytest.approx(20 / 12**0.5, rel=0.1)  # an even spread over the gap
    assert (curve.draws[:, 0] <= curve.draws[:, 1]).all()
    assert (curve.draws[:, 1] <= curve.draws[:, 2]).all()
    assert curve.beyond == ("4",)


def test_numbered_settings_are_placed_by_their_numbers():
    """4 of 2, 4 and 10 lies a quarter of the way."""
    curve = setting_curve([catch("2", 50, 500), catch("10", 50, 2500)], ("2", "4", "10"))
    assert curve.seeds_per_turn(1).value == pytest.approx(10 + 40 / 4, abs=1.0)


def test_curve_agrees_with_the_counts_where_they_rise():
    rng = np.random.default_rng(4)
    counts = simulated_bench(rng, RATES, turns=20)
    curve = setting_curve(counts)
    for index, figure in enumerate(curve.tried):
        assert figure is not None
        assert curve.seeds_per_turn(index).value == pytest.approx(
            figure.seeds_per_turn.value, rel=0.01
        )
        assert curve.seeds_per_turn_95(index) == pytest.approx(figure.seeds_per_turn_95, rel=0.02)


def test_the_same_counts_give_the_same_card():
    counts = [catch("1", 5, 100), catch("2", 5, 120)]
    assert (setting_curve(counts).draws == setting_curve(counts).draws).all()


def test_order_of_settings():
    assert settings_in_order(["10", "9", "9.5"]) == ("9", "9.5", "10")
    assert settings_in_order(["C1", "F2"], ("F1", "F2", "C1")) == ("F1", "F2", "C1")
    with pytest.raises(SeederError, match="no numbers, and their order is not known"):
        settings_in_order(["A", "B"])
    with pytest.raises(SeederError, match=r"'F22' is not in the seeder's order.*mean F2"):
        settings_in_order(["F22"], ("F1", "F2"))
    with pytest.raises(SeederError, match="twice"):
        settings_in_order(["F1"], ("F1", "F1"))


@pytest.mark.parametrize("dispersion", [0.6, 1.0, 2.0])
def test_power_to_tell_two_settings_apart(dispersion):
    """After the turns asked for, the test at 5 % finds the difference 9 times in 10.

    2,000 seeded pairs of counts with the true figures; margin three binomial standard deviations
    and the coarseness of whole turns.
    """
    rng = np.random.default_rng(7)
    spread = Dispersion(factor=dispersion, degrees_of_freedom=50)
    one, other = (
        setting_figure([catch(s, 4, 4 * rate)], spread) for s, rate in (("1", 20.0), ("2", 22.5))
    )
    more = more_turns_to_tell_apart(one, other, spread)
    assert more is not None
    turns = 4 + more
    found = 0
    for _ in range(2000):
        a, b = (seeds_falling(rng, rate * turns, dispersion) for rate in (20.0, 22.5))
        found += abs(a - b) > 1.96 * (dispersion * (a + b)) ** 0.5
    assert found / 2000 == pytest.approx(0.9, abs=0.025)


def test_power_at_the_edges():
    known = Dispersion(factor=1.0, degrees_of_freedom=0)
    figure = setting_figure([catch("1", 10, 200)], known)
    assert more_turns_to_tell_apart(figure, figure, known) is None
    far = setting_figure([catch("2", 10, 400)], known)
    assert more_turns_to_tell_apart(figure, far, known) == 0


def test_check_is_sharper_with_more_turns():
    """The neighbour passes less often, the longer one counts."""
    curve = setting_curve([catch("1", 60, 1200), catch("2", 60, 1500)])
    chances = [
        chance_inside(
            acceptance_range(curve.draws[:, 0], curve.dispersion_draws, turns),
            curve.draws[:, 1],
            curve.dispersion_draws,
        )
        for turns in (3, 10, 30)
    ]
    assert chances[0] > chances[1] > chances[2]


def test_turns_for_a_count():
    assert turns_for_count(26.0) == 5
    assert turns_for_count(10.0) == 12
    assert turns_for_count(1.0) == 20


def test_weighed_catch():
    """2.5 g at 60 ± 3 seeds a gram: 150 seeds, the 5 % shared by all catches."""
    seeds, shared = weighed_seeds(0.0025, 0.00005, Measured(60_000, 3000))
    assert (seeds.value, seeds.std) == (pytest.approx(150), pytest.approx(3))
    assert shared == pytest.approx(0.05)
    counts = [
        BenchCount(crop="", seed_lot="", setting="1", turns=5, seeds=seeds, shared_relative=shared)
        for _ in range(8)
    ]
    figure = setting_figure(counts, Dispersion(factor=0.01, degrees_of_freedom=7))
    assert figure.seeds_per_turn.relative == pytest.approx(0.05, rel=0.01)
    low, high = figure.seeds_per_turn_95
    assert (high - low) / 2 / 30 == pytest.approx(1.96 * 0.05, rel=0.01)


def test_turning_speed_by_hand():
    """0.9 m/s at 0.6 m a turn: 90 turns a minute."""
    assert turns_per_minute(0.9, 0.6) == pytest.approx(90)
    with pytest.raises(InputError, match="speed"):
        turns_per_minute(0, 0.6)
    with pytest.raises(InputError, match="ground per turn"):
        turns_per_minute(1, -1)


def test_bench_turned_too_slowly_is_remarked():
    counts = [
        catch("1", 5, 100, turns_per_minute=30.0, line=2),
        catch("1", 5, 100, turns_per_minute=85.0, line=3),
        catch("1", 5, 100, line=4),
        catch("1", 5, 100, turns_per_minute=200.0, line=5),
    ]
    slow, fast = turning_notices(counts, 90)
    assert "slower" in slow.text
    assert slow.where == "bench line 2"
    assert "faster" in fast.text
    assert fast.count == 1


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: catch("1", 0, 5), "turns is 0"),
        (lambda: catch("1", -2, 5), "turns is -2"),
        (lambda: catch("1", 5, -1), "seeds is -1"),
        (lambda: catch("", 5, 10), "setting is empty"),
    ],
)
def test_impossible_catches(make, says):
    with pytest.raises(InputError, match=says):
        make()


def test_no_curve_without_seeds():
    with pytest.raises(MeasureError, match="no seeds"):
        setting_curve([catch("1", 5, 0)])
