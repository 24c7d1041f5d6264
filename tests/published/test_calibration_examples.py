"""Worked calibration examples as their publishers print them, with the printed rounding.

Where a printed figure was cut or rounded on the way, the test says so and asks for no more digits
than the print holds.
"""

from math import pi

import pytest

from groundtruth.core import crops, units
from groundtruth.core.seeder import gear_ratio
from groundtruth.seeding import formulas as seeding

ACRE, FOOT, INCH, POUND, OUNCE = (
    c.value for c in (units.ACRE, units.FOOT, units.INCH, units.POUND, units.OUNCE)
)
HECTARE = units.HECTARE.value


def test_seeds_per_foot_from_seeds_per_acre():
    """Iowa State University, Agron 212, "Seeds per row": 200,000 per acre in 15 in rows."""
    per_m = seeding.seeds_per_metre_from_area(200_000 / ACRE, 15 * INCH)
    assert f"{per_m * FOOT:.2f}" == "5.74"


def test_seeds_per_acre_from_seeds_per_foot():
    """Iowa State University, Agron 212, "Seeds per row": 5 seeds per foot in 15 in rows."""
    per_m2 = seeding.seeds_per_area_from_metre(5 / FOOT, 15 * INCH)
    assert f"{per_m2 * ACRE:,.0f}" == "174,240"


def test_area_of_twenty_wheel_turns():
    """Soil Health Labs, "How to calibrate a grain drill": 8 ft wheel, 0.625 ft rows, 20 turns."""
    distance_m = 20 * 8 * FOOT
    assert distance_m * 0.625 * FOOT / FOOT**2 == pytest.approx(100, abs=1e-9)
    catch_kg = seeding.catch_for_rate(25 * POUND / ACRE, 0.625 * FOOT, distance_m)
    # Not printed: 25 lb/ac on 100 sq ft; the source counts 454 g to the pound.
    assert catch_kg / POUND * 454 == pytest.approx(25 * 454 * 100 / 43_560, rel=1e-12)


def test_pounds_per_acre_from_two_ounces():
    """Wyoming Livestock Roundup, 9 June 2012, "Calibration is key to accurate seeding rates".

    10 rows of 7 in, 8.5 ft wheel, 10 turns, 2 oz; printed 85 ft, 495 sq ft, 0.0114 acre, 11 lb/ac.
    The area is printed cut to whole square feet (495.83).
    """
    width_m, distance_m = 10 * 7 * INCH, 10 * 8.5 * FOOT
    assert f"{distance_m / FOOT:.0f}" == "85"
    assert int(width_m * distance_m / FOOT**2) == 495
    assert f"{width_m * distance_m / ACRE:.4f}" == "0.0114"
    rate = seeding.rate_from_catch(2 * OUNCE, width_m, distance_m)
    assert f"{rate * ACRE / POUND:.0f}" == "11"


def test_distance_for_a_twentieth_of_an_acre():
    """Southeast Farm Press, on drilling cover crops: 24 rows of 7.5 in, 2,178 sq ft is 145.2 ft."""
    width_m = 24 * 7.5 * INCH
    assert width_m / FOOT == pytest.approx(15, rel=1e-12)
    assert f"{ACRE / 20 / FOOT**2:,.0f}" == "2,178"
    assert f"{seeding.row_length(ACRE / 20, width_m) / FOOT:.1f}" == "145.2"


def test_wheel_turns_and_row_inches():
    """University of Kentucky, "Calculating seeding rates": 60 in wheel, 50 ft; 7 in rows."""
    assert seeding.turns_for_distance(50 * FOOT, 60 * INCH) == pytest.approx(10, rel=1e-12)
    assert f"{seeding.row_length(FOOT**2, 7 * INCH) / INCH:.1f}" == "20.6"


def test_pounds_of_wheat_per_acre():
    """University of Kentucky, same page: 35 seeds per sq ft, 12,000 seeds/lb, printed 127 lb/ac."""
    rate = seeding.rate_by_weight(35 / FOOT**2, 12_000 / POUND)
    assert f"{rate * ACRE / POUND:.0f}" == "127"


def test_pounds_per_acre_with_losses():
    """North Dakota State University, "Optimal seeding rates": 1.1 million plants per acre, 15 %
    stand loss, 12,500 seeds/lb of which 95 % germinate; printed 110 lb/ac, rounded to tens.
    """
    seeds = crops.seeds_to_drop(1.1e6 / ACRE, germination=0.95, field_emergence=0.85)
    rate = seeding.rate_by_weight(seeds, 12_500 / POUND)
    assert round(rate * ACRE / POUND, -1) == 110


def test_kilograms_per_hectare():
    """ "Metric problems", agricultural engineering: 12 units of 0.20 m, 0.80 m wheel, 50 turns,
    270.9 g; printed 8.9 kg/ha, cut after the first decimal.
    """
    rate = seeding.rate_from_catch(0.2709, 12 * 0.20, 50 * pi * 0.80)
    assert int(rate * HECTARE * 10) / 10 == 8.9
    mean_g = 270.9 / 12
    assert f"{mean_g * 1.05:.1f}" == "23.7"
    assert f"{mean_g * 0.95:.1f}" == "21.4"


def test_plants_per_hectare():
    """ "Metric problems", agricultural engineering: 11.5 cm in rows of 70 cm. Answer recomputed."""
    per_m2 = seeding.seeds_per_area_from_metre(crops.plants_per_metre(0.115), 0.70)
    assert f"{per_m2 * HECTARE:,.0f}" == "124,224"


def test_seeds_for_a_stand():
    """Exam question on planters, qna.carrieradda.com/4189: 6,000 plants/ha at 75 % emergence."""
    assert f"{crops.seeds_to_drop(6000, field_emergence=0.75):,.0f}" == "8,000"


@pytest.mark.parametrize("diameter_ft", [2.0, 2.5])
def test_turns_in_a_hundred_feet(diameter_ft):
    """University of Maryland Extension, 3 May 2019, "Calibrating your grain drill":
    turns = 100 / (3.14 × diameter), with pi cut to 3.14.
    """
    turns = seeding.turns_for_distance(100 * FOOT, pi * diameter_ft * FOOT)
    assert turns == pytest.approx(100 / (3.14 * diameter_ft), rel=6e-4)


def test_turns_in_a_twenty_fifth_of_a_hectare():
    """Lecture slides on drill calibration: N = 400 / (π·D·W); 0.6 m wheel, 2.25 m wide."""
    distance_m = seeding.row_length(HECTARE / 25, 2.25)
    turns = seeding.turns_for_distance(distance_m, pi * 0.6)
    assert f"{turns:.2f}" == "94.31"


@pytest.mark.parametrize(
    ("spacing_in", "printed_ft"),
    [(12, 43_560), (15, 34_848), (18, 29_040), (24, 21_780), (30, 17_424), (36, 14_520)],
)
def test_row_length_per_acre(spacing_in, printed_ft):
    """Feet of row per acre as seeding guides tabulate them (from memory): 43,560 sq ft / width."""
    assert seeding.row_length(ACRE, spacing_in * INCH) / FOOT == pytest.approx(
        printed_ft, rel=1e-12
    )


@pytest.mark.parametrize(("spacing_m", "length_m"), [(0.25, 40_000), (0.30, 33_333)])
def test_row_length_per_hectare(spacing_m, length_m):
    """10,000 m² over the row spacing."""
    assert round(seeding.row_length(HECTARE, spacing_m)) == length_m


def test_grams_over_ten_metres():
    """Grain Guide 2018 (fertiliser): kg/ha is grams caught per row over 10 m over row spacing."""
    rate = seeding.rate_from_catch(0.035, 0.75, 10)
    assert rate * HECTARE == pytest.approx(35 / 0.75, rel=1e-12)


def test_skid_of_a_dragged_wheel():
    """Textbook definition (from memory): 50 turns free, 47 in work over the same distance."""
    assert f"{seeding.skid(50, 47):.2%}" == "6.00%"
    assert f"{seeding.travel_reduction(50, 47):.2%}" == "-6.38%"
    assert f"{1 / (1 - seeding.skid(50, 47)):.4f}" == "1.0638"


def test_gear_train():
    """Ratio of a train: product of driving over driven teeth (textbook, from memory)."""
    assert gear_ratio([(24, 12), (18, 12)]) == pytest.approx(3.0, rel=1e-12)
