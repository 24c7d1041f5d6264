"""Targets and seeding arithmetic: proportions that anybody can redo by hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from groundtruth.core import crops, units
from groundtruth.core.errors import GroundtruthError, InputError
from groundtruth.core.measured import Measured
from groundtruth.core.run import Sowing
from groundtruth.seeding import formulas as seeding
from groundtruth.seeding.target import target_for

above_zero = st.floats(1e-3, 1e3)


def test_inch_spacing_on_two_feet_a_turn():
    """One seed an inch over two feet is 24 seeds (by hand)."""
    sowing = Sowing(crop="spinach", spacing_m=units.INCH.value)
    target = target_for(sowing, Measured(2 * units.FOOT.value))
    assert target.seeds_per_turn.value == pytest.approx(24, rel=1e-12)
    assert target.seeds_per_turn_95 == (pytest.approx(24), pytest.approx(24))


def test_corrected_beside_the_figure_in_use():
    """5 % more ground a turn wants 5 % more seeds; poor seed wants more (by hand: 20/0.8/0.5)."""
    sowing = Sowing(crop="chard", spacing_m=0.05, germination=0.8, field_emergence=0.5)
    target = target_for(sowing, Measured(1.05, 0.01), (1.03, 1.07), in_use_m=1.0)
    assert target.seeds_per_turn_in_use == pytest.approx(50)
    assert target.seeds_per_turn.value == pytest.approx(52.5)
    assert target.seeds_per_turn.std == pytest.approx(0.5)
    assert target.seeds_per_turn_95 == (pytest.approx(51.5), pytest.approx(53.5))


def test_without_interval_it_is_the_normal_one():
    target = target_for(Sowing(crop="leek", spacing_m=0.1), Measured(1.0, 0.01))
    assert target.seeds_per_turn_95 == pytest.approx((9.804, 10.196), abs=0.001)
    assert target.seeds_per_turn_in_use is None


@given(per_m2=above_zero, spacing=above_zero, per_kg=above_zero)
def test_area_and_row_are_inverse(per_m2, spacing, per_kg):
    per_m = seeding.seeds_per_metre_from_area(per_m2, spacing)
    assert seeding.seeds_per_area_from_metre(per_m, spacing) == pytest.approx(per_m2)
    rate = seeding.rate_by_weight(per_m2, per_kg)
    assert crops.seeds_per_metre_from_rate(rate, per_kg, spacing) == pytest.approx(per_m)


@given(rate=above_zero, width=above_zero, distance=above_zero)
def test_catch_and_rate_are_inverse(rate, width, distance):
    catch = seeding.catch_for_rate(rate, width, distance)
    assert seeding.rate_from_catch(catch, width, distance) == pytest.approx(rate)


@given(free=above_zero, work=above_zero)
def test_the_two_signs_of_slip_belong_together(free, work):
    """Travel reduction is 1 − 1/(1 − s); a wheel that drags has s > 0 and travel reduction < 0."""
    s = seeding.skid(free, work)
    assert seeding.travel_reduction(free, work) == pytest.approx(
        1 - 1 / (1 - s), rel=1e-6, abs=1e-9
    )
    assert (s > 0) == (seeding.travel_reduction(free, work) < 0) or s == 0


def test_plants_of_a_bed_share_its_lines():
    assert crops.plants_per_metre_from_bed(90.0, 3) == pytest.approx(30)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: crops.plants_per_metre(0.0), "spacing is 0; it must be above 0"),
        (lambda: crops.seeds_to_drop(10, germination=85), "write 0.85 for 85 %"),
        (lambda: crops.seeds_to_drop(10, field_emergence=0), "field emergence is 0"),
        (lambda: crops.seeds_to_drop(10, germination=-0.2), "a share above 0"),
        (lambda: seeding.row_length(float("nan"), 0.3), "area is nan"),
        (lambda: seeding.turns_for_distance(100, -1), "ground per turn is -1"),
        (lambda: Sowing(crop="leek", spacing_m=0.0), "spacing is 0"),
        (lambda: Sowing(crop="leek", spacing_m=0.1, germination=85), "write 0.85"),
    ],
)
def test_impossible_figures_get_one_clear_line(call, says):
    with pytest.raises(GroundtruthError, match=says) as caught:
        call()
    assert isinstance(caught.value, InputError)
    assert "\n" not in str(caught.value)
