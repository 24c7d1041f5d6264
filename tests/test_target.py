"""Seeds per gear turn: proportions that anybody can redo by hand."""

import pytest

from groundtruth.core import crops, units
from groundtruth.core.crops import Crop, plants_per_metre
from groundtruth.core.errors import GroundtruthError, InputError
from groundtruth.core.measured import Measured


def test_inch_spacing_on_two_feet_a_turn():
    """One seed an inch over two feet is 24 seeds (by hand)."""
    crop = Crop(name="spinach", plants_per_m=plants_per_metre(units.INCH.value))
    target = crop.target(Measured(2 * units.FOOT.value))
    assert target.seeds_per_turn.value == pytest.approx(24, rel=1e-12)
    assert target.seeds_per_turn_95 == (pytest.approx(24), pytest.approx(24))


def test_corrected_beside_the_figure_in_use():
    """5 % more ground a turn wants 5 % more seeds; poor seed wants more (by hand: 20/0.8/0.5)."""
    crop = Crop(
        name="chard", plants_per_m=20, germination=Measured(0.8), field_emergence=Measured(0.5)
    )
    target = crop.target(Measured(1.05, 0.01), (1.03, 1.07), in_use_m=1.0)
    assert target.seeds_per_turn_in_use == pytest.approx(50)
    assert target.seeds_per_turn.value == pytest.approx(52.5)
    assert target.seeds_per_turn.std == pytest.approx(0.5)
    assert target.seeds_per_turn_95 == (pytest.approx(51.5), pytest.approx(53.5))


def test_without_interval_it_is_the_normal_one():
    target = Crop(name="leek", plants_per_m=10).target(Measured(1.0, 0.01))
    assert target.seeds_per_turn_95 == pytest.approx((9.804, 10.196), abs=0.001)
    assert target.seeds_per_turn_in_use is None


def test_plants_of_a_bed_share_its_lines():
    assert crops.plants_per_metre_from_bed(90.0, 3) == pytest.approx(30)


@pytest.mark.parametrize("spacing_m", [0.035, 0.04445, 0.07, 1.1 * 0.0254, 1 / 3])
def test_a_spacing_comes_back_as_it_was_written(spacing_m):
    crop = Crop(name="leek", plants_per_m=plants_per_metre(spacing_m))
    assert plants_per_metre(crop.spacing_m) == crop.plants_per_m
    assert f"{crop.spacing_m:.15g}" == f"{spacing_m:.15g}"
    assert Crop(name="rye", seeds_per_m=30).spacing_m is None


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: plants_per_metre(0.0), "spacing is 0; it must be above 0"),
        (lambda: crops.plants_per_metre_from_bed(60, 0), "lines is 0"),
        (lambda: crops.seeds_per_metre_from_rate(float("nan"), 1, 1), "rate is nan"),
        (lambda: Crop(name="x", plants_per_m=1, germination=Measured(85)), "write 0.85 for 85 %"),
        (lambda: Crop(name="x", plants_per_m=1, field_emergence=Measured(0)), "emergence is 0"),
        (lambda: Crop(name="x", plants_per_m=1, germination=Measured(-0.2)), "a share above 0"),
        (lambda: Crop(name="x", plants_per_m=float("inf")), "wanted is inf"),
    ],
)
def test_impossible_figures_get_one_clear_line(call, says):
    with pytest.raises(GroundtruthError, match=says) as caught:
        call()
    assert isinstance(caught.value, InputError)
    assert "\n" not in str(caught.value)
