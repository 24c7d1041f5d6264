"""What is wanted: the ways of saying it agree, and every bad line is named."""

import math

import pytest

from groundtruth.core.crops import Crop, germination_from_test
from groundtruth.core.errors import GroundtruthError, InputError, QuantityError
from groundtruth.core.measured import Measured
from groundtruth.core.units import ACRE, FOOT, HECTARE, POUND
from groundtruth.io.sheets.crops import parse_accept, parse_rate, read_crops
from groundtruth.seeding.stand_emergence import with_emergence


def sheet(tmp_path, text):
    path = tmp_path / "crops.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_three_ways_to_want_the_same(tmp_path):
    """A plant each 5 cm in 3 lines is 60 plants per metre of bed, 18.288 per foot (by hand)."""
    crops = read_crops(
        sheet(
            tmp_path,
            "crop,spacing,plants_per_bed_metre,plants_per_bed_foot,lines\n"
            "a,5 cm,,,3\nb,,60,,3\nc,,,18.288,3\n",
        )
    ).crops
    assert [w.plants_per_m for w in crops] == [pytest.approx(20)] * 3


def test_rate_by_weight(tmp_path):
    """10 kg/ha in rows of 0.25 m is 0.25 g a metre: 15 seeds at 60 a gram (by hand)."""
    (crop,) = read_crops(
        sheet(tmp_path, "crop;rate;row spacing;seeds per gram\nx;10 kg/ha;25 cm;60 ± 3\n")
    ).crops
    assert crop.by_rate
    assert crop.seeds_per_m == pytest.approx(15)
    assert crop.seeds_per_kg == Measured(60_000, pytest.approx(3000 / 3**0.5).expected)
    assert crop.establishment.value == 1


def test_rates_and_ranges():
    assert parse_rate("9 lb/acre") == pytest.approx(9 * POUND.value / ACRE.value)
    assert parse_rate("10 kg per ha") == pytest.approx(10 / HECTARE.value)
    assert parse_accept("20-28") == (20, 28)
    assert parse_accept("20 to 28 per m") == (20, 28)
    assert parse_accept("6–9 /ft") == pytest.approx((6 / FOOT.value, 9 / FOOT.value))
    for bad in ("28-20", "20", "a-b", "0-5"):
        with pytest.raises(QuantityError, match="is no range"):
            parse_accept(bad)
    for bad in ("9 lb", "9 lb/yd", "-1 kg/ha"):
        with pytest.raises(QuantityError):
            parse_rate(bad)


def test_shares_in_any_writing(tmp_path):
    (crop,) = read_crops(
        sheet(
            tmp_path,
            "crop,spacing_cm,germination,germination_tested,emergence\nx,4,82 %,200,0.7 ± 0.09\n",
        )
    ).crops
    assert crop.germination.value == pytest.approx(0.82)
    assert crop.germination.std == pytest.approx((0.82 * 0.18 / 200) ** 0.5)
    assert crop.field_emergence.std == pytest.approx(0.09 / 3**0.5)
    assert crop.plants_per_m == pytest.approx(25)


def test_target_interval():
    """Certain seed: the interval of the ground per turn, scaled. Uncertain seed widens it."""
    ground, ends = Measured(0.64, 0.01), (0.61, 0.68)
    sure = Crop(name="x", plants_per_m=20, germination=Measured(0.8))
    assert sure.target(ground, ends).seeds_per_turn_95 == pytest.approx((25 * 0.61, 25 * 0.68))
    unsure = Crop(name="x", plants_per_m=20, germination=Measured(0.8, 0.04))
    low, high = unsure.target(ground, ends).seeds_per_turn_95
    assert low == pytest.approx(16 * math.exp(-math.hypot(math.log(0.64 / 0.61), 0.098)))
    assert high > 25 * 0.68


def test_a_perfect_germination_test_is_not_certain():
    assert germination_from_test(1.0, 100).std == pytest.approx((0.005 * 0.995 / 100) ** 0.5)
    assert germination_from_test(1.0, None).std == 0


def test_emergence_is_fed_back():
    crops = [
        Crop(name="Chard", seed_lot="L1", plants_per_m=10),
        Crop(name="chard", seed_lot="L2", plants_per_m=10),
        Crop(name="kale", plants_per_m=10),
    ]
    found = {("chard", "l1"): Measured(0.5), ("chard", ""): Measured(0.6)}
    shares = [w.field_emergence.value for w in with_emergence(crops, found)]
    assert shares == [0.5, 0.6, 1.0]


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("x,5 cm,85,", "line 2: germination is 85; .*write 0.85 for 85 %"),
        ("x,0 cm,,", "line 2: .*spacing.*above 0"),
        ("x,5,,", "line 2: .*no unit"),
        (",5 cm,,", "line 2: crop is empty"),
        ("x,,,", "line 2: give one of spacing"),
        ("x,5 cm,,28-20", "line 2: .*is no range"),
        ("x,5 cm,-0.5,", "line 2: germination is -0.5"),
        ("x,5 cm,much,", "line 2: germination 'much' is no number"),
    ],
)
def test_bad_lines(tmp_path, line, says):
    with pytest.raises(GroundtruthError, match=says) as caught:
        read_crops(sheet(tmp_path, f"crop,spacing,germination,accept\n{line}\n"))
    assert str(caught.value).startswith("crops.csv, line 2: ")
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("crop,spaceing\nx,5 cm\n", "'spaceing' is not known; did you mean spacing"),
        ("spacing\n5 cm\n", "no column crop"),
        ("crop,spacing\n", "no line below the header"),
        ("crop,spacing,spacing\nx,5 cm,5 cm\n", "two columns spacing"),
        ("crop,rate\nx,9 lb/acre\n", "a rate needs row_spacing"),
        ("crop,spacing,lines\nx,5 cm,1.5\n", "whole number"),
    ],
)
def test_bad_sheets(tmp_path, text, says):
    with pytest.raises(InputError, match=says):
        read_crops(sheet(tmp_path, text))


def test_unknown_columns_are_named_and_left_aside(tmp_path):
    crops = read_crops(sheet(tmp_path, "crop,spacing,supplier,notes\nx,5 cm,own,-\n"))
    (notice,) = crops.notices
    assert "'supplier' is not used" in notice.text


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({}, "either a stand"),
        ({"plants_per_m": 1, "seeds_per_m": 1}, "either a stand"),
        ({"plants_per_m": -1}, "above 0"),
        ({"plants_per_m": 1, "field_emergence": Measured(90)}, "write 0.9 for 90 %"),
        ({"plants_per_m": 1, "accept": (2.0, 1.0)}, "accept"),
        ({"plants_per_m": 1, "lines": 0}, "lines"),
    ],
)
def test_impossible_crops(more, says):
    with pytest.raises(InputError, match=says):
        Crop(name="x", **more)
