"""Worked calibration examples as their publishers print them, put to what the commands compute.

Distances and turns go through `pool_run`, which gives ground per turn and slip; stands, rates and
losses through `Crop`; weights caught over a distance through `seed_needed`. Where a printed figure
was cut or rounded on the way, the test says so and asks for no more digits than the print holds.
"""

from math import pi

import numpy as np
import pytest

from groundtruth.core import units
from groundtruth.core.beds import Bed
from groundtruth.core.crops import Crop, plants_per_metre, seeds_per_metre_from_rate
from groundtruth.core.measured import Measured
from groundtruth.core.seeder import Seeder, gear_ratio
from groundtruth.io.sheets.crops import parse_rate
from groundtruth.measurement.slip import PassCount, pool_run
from groundtruth.seeding.seed_need import seed_needed

ACRE, FOOT, INCH, POUND, OUNCE = (
    c.value for c in (units.ACRE, units.FOOT, units.INCH, units.POUND, units.OUNCE)
)
HECTARE = units.HECTARE.value
SEEDS_PER_KG = 50_000.0
"""For examples of weights alone: any number of seeds must give the same weight."""


def measured_pass(distance_m, turns, circumference_m=None):
    """Ground per turn and slip of one taped pass whose turns were counted without error."""
    wheel = Seeder(wheel_circumference=Measured(circumference_m)) if circumference_m else Seeder()
    count = PassCount(pass_index=0, unit="1", gear_turns=Measured(turns))
    exact = {"tape": np.zeros((1, 1))}
    (figure,) = pool_run(np.array([distance_m]), exact, [count], wheel.zero_slip_travel).counts
    return figure


def sown_by_rate(rate_kg_m2, row_spacing_m, seeds_per_kg=SEEDS_PER_KG):
    per_m = seeds_per_metre_from_rate(rate_kg_m2, seeds_per_kg, row_spacing_m)
    return Crop(name="x", seeds_per_m=per_m, seeds_per_kg=Measured(seeds_per_kg))


def needed(crop, length_m, rows=1):
    """Seed for rows of this length."""
    bed = Bed(name="1", length_m=length_m, lines=rows)
    return seed_needed([bed], crop.seeds_wanted_per_m, seeds_per_kg=crop.seeds_per_kg)


def test_seeds_per_foot_from_seeds_per_acre():
    """Iowa State University, Agron 212, "Seeds per row": 200,000 per acre in 15 in rows, here as
    100 lb of 2,000 seeds a pound."""
    crop = sown_by_rate(parse_rate("100 lb/acre"), 15 * INCH, 2000 / POUND)
    assert f"{crop.seeds_wanted_per_m.value * FOOT:.2f}" == "5.74"


def test_seeds_per_acre_from_seeds_per_foot():
    """Iowa State University, Agron 212, "Seeds per row": 5 seeds per foot in 15 in rows."""
    crop = Crop(name="x", seeds_per_m=5 / FOOT)
    assert f"{needed(crop, ACRE / (15 * INCH)).seeds.value:,.0f}" == "174,240"


def test_area_of_twenty_wheel_turns():
    """Soil Health Labs, "How to calibrate a grain drill": 8 ft wheel, 0.625 ft rows, 20 turns."""
    distance_m = 20 * 8 * FOOT
    assert distance_m * 0.625 * FOOT / FOOT**2 == pytest.approx(100, abs=1e-9)
    caught = needed(sown_by_rate(parse_rate("25 lb/acre"), 0.625 * FOOT), distance_m).mass_kg
    # Not printed: 25 lb/ac on 100 sq ft; the source counts 454 g to the pound.
    assert caught.value / POUND * 454 == pytest.approx(25 * 454 * 100 / 43_560, rel=1e-12)


def test_pounds_per_acre_from_two_ounces():
    """Wyoming Livestock Roundup, 9 June 2012, "Calibration is key to accurate seeding rates".

    10 rows of 7 in, 8.5 ft wheel, 10 turns, 2 oz; printed 85 ft and 11 lb/ac.
    """
    distance_m = 85 * FOOT
    assert measured_pass(distance_m, 10).ground_per_turn.value / FOOT == pytest.approx(8.5)
    caught = needed(sown_by_rate(parse_rate("1 lb/acre"), 7 * INCH), distance_m, rows=10)
    assert f"{2 * OUNCE / caught.mass_kg.value:.0f}" == "11"


def test_ground_per_turn_on_a_twentieth_of_an_acre():
    """Southeast Farm Press, on drilling cover crops: 24 rows of 7.5 in, 2,178 sq ft are 145.2 ft
    long; its 19 turns counted in the soil hold the slip. Answer of 7.642 ft a turn recomputed."""
    seeder = Seeder(row_units=24, row_spacing_m=7.5 * INCH)
    assert seeder.sown_width_m / FOOT == pytest.approx(15, rel=1e-12)
    assert f"{2178 * FOOT**2 / seeder.sown_width_m / FOOT:.1f}" == "145.2"
    assert f"{measured_pass(145.2 * FOOT, 19).ground_per_turn.value / FOOT:.3f}" == "7.642"


def test_wheel_turns_and_row_inches():
    """University of Kentucky, "Calculating seeding rates": 60 in wheel, 50 ft, 10 turns; a square
    foot holds 20.6 in of 7 in rows."""
    just_rolling = measured_pass(50 * FOOT, 10, 60 * INCH)
    assert just_rolling.ground_per_turn.value / INCH == pytest.approx(60, rel=1e-12)
    assert just_rolling.slip.value == pytest.approx(0, abs=1e-12)
    per_m = seeds_per_metre_from_rate(35 / FOOT**2, 1.0, 7 * INCH)
    assert f"{35 / (per_m * INCH):.1f}" == "20.6"


def test_pounds_of_wheat_per_acre():
    """University of Kentucky, same page: 35 seeds per sq ft, 12,000 seeds/lb, printed 127 lb/ac."""
    crop = Crop(
        name="wheat", seeds_per_m=35 / FOOT**2 * 7 * INCH, seeds_per_kg=Measured(12_000 / POUND)
    )
    assert f"{needed(crop, ACRE / (7 * INCH)).mass_kg.value / POUND:.0f}" == "127"
    again = sown_by_rate(parse_rate("127.05 lb/acre"), 7 * INCH, 12_000 / POUND)
    assert again.seeds_per_m == pytest.approx(crop.seeds_per_m, rel=1e-5)


def test_pounds_per_acre_with_losses():
    """North Dakota State University, "Optimal seeding rates": 1.1 million plants per acre, 15 %
    stand loss, 12,500 seeds/lb of which 95 % germinate; printed 110 lb/ac, rounded to tens.
    """
    crop = Crop(
        name="wheat",
        plants_per_m=1.1e6 / ACRE * 6 * INCH,
        germination=Measured(0.95),
        field_emergence=Measured(0.85),
        seeds_per_kg=Measured(12_500 / POUND),
    )
    assert round(needed(crop, ACRE / (6 * INCH)).mass_kg.value / POUND, -1) == 110


def test_kilograms_per_hectare():
    """ "Metric problems", agricultural engineering: 12 units of 0.20 m, 0.80 m wheel, 50 turns,
    270.9 g; printed 8.9 kg/ha, cut after the first decimal.
    """
    distance_m = 50 * pi * 0.80
    assert measured_pass(distance_m, 50, pi * 0.80).slip.value == pytest.approx(0, abs=1e-12)
    caught = needed(sown_by_rate(parse_rate("1 kg/ha"), 0.20), distance_m, rows=12)
    assert int(0.2709 / caught.mass_kg.value * 10) / 10 == 8.9


def test_plants_per_hectare():
    """ "Metric problems", agricultural engineering: 11.5 cm in rows of 70 cm. Answer recomputed."""
    crop = Crop(name="x", plants_per_m=plants_per_metre(0.115))
    assert f"{needed(crop, HECTARE / 0.70).seeds.value:,.0f}" == "124,224"


def test_seeds_for_a_stand():
    """Exam question on planters, qna.carrieradda.com/4189: 6,000 plants/ha at 75 % emergence want
    8,000 seeds, sown in four rows of 1 m."""
    crop = Crop(name="x", plants_per_m=6000 / HECTARE * 1.0, field_emergence=Measured(0.75))
    assert f"{needed(crop, HECTARE / 4, rows=4).seeds.value:,.0f}" == "8,000"


@pytest.mark.parametrize("diameter_ft", [2.0, 2.5])
def test_turns_in_a_hundred_feet(diameter_ft):
    """University of Maryland Extension, 3 May 2019, "Calibrating your grain drill":
    turns = 100 / (3.14 × diameter) without slip, with pi cut to 3.14.
    """
    turns = 100 / (3.14 * diameter_ft)
    slip = measured_pass(100 * FOOT, turns, pi * diameter_ft * FOOT).slip
    assert slip.value == pytest.approx(0, abs=6e-4)


def test_turns_in_a_twenty_fifth_of_a_hectare():
    """Lecture slides on drill calibration: N = 400 / (π·D·W); 0.6 m wheel, 2.25 m wide, 94.31
    turns on 1/25 ha if nothing slips."""
    figure = measured_pass(HECTARE / 25 / 2.25, 94.31, pi * 0.6)
    assert figure.ground_per_turn.value == pytest.approx(pi * 0.6, rel=5e-5)
    assert figure.slip.value == pytest.approx(0, abs=5e-5)


@pytest.mark.parametrize(
    ("spacing_in", "printed_ft"),
    [(12, 43_560), (15, 34_848), (18, 29_040), (24, 21_780), (30, 17_424), (36, 14_520)],
)
def test_row_length_per_acre(spacing_in, printed_ft):
    """Feet of row per acre as seeding guides tabulate them (from memory): one seed a foot of row
    is as many seeds per acre."""
    per_m = seeds_per_metre_from_rate(printed_ft / ACRE, 1.0, spacing_in * INCH)
    assert per_m * FOOT == pytest.approx(1, rel=1e-12)


@pytest.mark.parametrize(("spacing_m", "length_m"), [(0.25, 40_000), (0.30, 33_333)])
def test_row_length_per_hectare(spacing_m, length_m):
    """10,000 m² over the row spacing: one seed a metre is as many seeds per hectare."""
    per_m = seeds_per_metre_from_rate(length_m / HECTARE, 1.0, spacing_m)
    assert per_m == pytest.approx(1, abs=2e-5)


def test_grams_over_ten_metres():
    """Grain Guide 2018 (fertiliser): kg/ha is grams caught per row over 10 m over row spacing."""
    crop = sown_by_rate(parse_rate(f"{35 / 0.75!r} kg/ha"), 0.75)
    assert needed(crop, 10).mass_kg.value == pytest.approx(0.035, rel=1e-12)


def test_skid_of_a_dragged_wheel():
    """Textbook definitions (from memory): 50 turns free and 47 in work over the same distance are
    a skid of 6.00 %, 1.0638 times the ground per turn, and, as traction texts count for a driven
    wheel, a travel reduction of −6.38 %."""
    circumference_m = 1.9
    figure = measured_pass(50 * circumference_m, 47, circumference_m)
    assert f"{figure.slip.value:.2%}" == "6.00%"
    longer = figure.ground_per_turn.value / circumference_m
    assert f"{longer:.4f}" == "1.0638"
    assert f"{1 - longer:.2%}" == "-6.38%"


def test_gear_train():
    """Ratio of a train: product of driving over driven teeth (textbook, from memory)."""
    assert gear_ratio([(24, 12), (18, 12)]) == pytest.approx(3.0, rel=1e-12)
