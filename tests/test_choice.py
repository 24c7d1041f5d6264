"""Choosing a setting: probabilities against integration, wording of thinning, edges."""

import numpy as np
import pytest
from benches import simulated_bench
from scipy import stats

from groundtruth.core.crops import Crop
from groundtruth.core.errors import InputError
from groundtruth.core.measured import Measured
from groundtruth.seeding import BenchCount, setting_curve
from groundtruth.seeding.setting_choice import choose


def curve(rates, turns=400.0, **more):
    """A bench so long that seeds per turn are all but known."""
    return setting_curve(
        [
            BenchCount(crop="", seed_lot="", setting=s, turns=turns, seeds=Measured(r * turns))
            for s, r in rates.items()
        ],
        **more,
    )


RATES = {"1": 12.0, "2": 16.0, "3": 20.0, "4": 25.0}


def test_nearest_stand_is_chosen():
    """At 0.64 m a turn and 0.8 growing, 16 seeds a turn give 20 plants a metre (by hand)."""
    crop = Crop(name="kale", plants_per_m=20.5, germination=Measured(0.8))
    choice = choose(crop, Measured(0.64), curve(RATES))
    assert choice.option.setting == "2"
    assert choice.option.stand.value == pytest.approx(20, rel=0.005)
    assert choice.seeds_per_turn_wanted.value == pytest.approx(20.5 * 0.64 / 0.8)
    assert [n.setting for n in choice.neighbours] == ["1", "3"]
    assert choice.beyond is None
    assert choice.thin is None


def test_probabilities_add_up_and_agree_with_integration():
    """Only the ground per turn is uncertain: the stand is 16/L with a normal L."""
    crop = Crop(name="kale", plants_per_m=25, accept=(24.0, 26.0))
    ground = Measured(0.64, 0.02)
    choice = choose(crop, ground, curve(RATES, turns=1e5))
    option = choice.options[1]
    assert option.inside + option.below + option.above == pytest.approx(1)
    normal = stats.norm(0.64, 0.02)
    expected = normal.cdf(16 / 24) - normal.cdf(16 / 26)
    assert option.inside == pytest.approx(expected, abs=0.025)  # 3 σ of 4,000 draws
    assert option.below == pytest.approx(normal.sf(16 / 24), abs=0.02)


def test_uncertain_germination_widens_the_stand():
    sure = Crop(name="kale", plants_per_m=20, germination=Measured(0.8))
    unsure = Crop(name="kale", plants_per_m=20, germination=Measured(0.8, 0.08))
    first, second = (choose(w, Measured(0.64), curve(RATES)) for w in (sure, unsure))
    assert second.option.stand.relative == pytest.approx(
        np.hypot(first.option.stand.relative, 0.1), rel=0.05
    )


def test_thinning_and_beyond():
    """The smallest setting still gives 18.75 a metre where 10 are wanted."""
    choice = choose(Crop(name="kale", plants_per_m=10), Measured(0.64), curve(RATES))
    assert choice.option.setting == "1"
    assert choice.beyond == "below"
    assert choice.thin == pytest.approx(1 - 10 / 18.75, rel=0.01)
    high = choose(Crop(name="kale", plants_per_m=80), Measured(0.64), curve(RATES))
    assert (high.option.setting, high.beyond, high.thin) == ("4", "above", None)


def test_a_rate_is_not_corrected_for_germination():
    crop = Crop(name="rye", seeds_per_m=31.25, germination=Measured(0.5))
    choice = choose(crop, Measured(0.64), curve(RATES))
    assert choice.option.setting == "3"
    assert choice.option.stand.value == pytest.approx(31.25, rel=0.005)
    assert choice.thin is None


def test_setting_is_found_again():
    """Ordinary benches, 100 seeded: the right setting is chosen nearly always."""
    rng = np.random.default_rng(3)
    crop = Crop(name="kale", plants_per_m=20 / 0.64)
    right = sum(
        choose(crop, Measured(0.64, 0.004), setting_curve(simulated_bench(rng, RATES))).option
        .setting == "3"
        for _ in range(100)
    )  # fmt: skip
    assert right >= 98


def test_bad_input():
    crop = Crop(name="kale", plants_per_m=20)
    with pytest.raises(InputError, match="ground per turn"):
        choose(crop, Measured(0.0), curve(RATES))
    with pytest.raises(InputError, match="turns is 0"):
        choose(crop, Measured(0.6), curve(RATES), turns=0)
