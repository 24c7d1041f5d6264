"""Seed needed: by hand, against simulation, and from a measured run."""

import numpy as np
import pytest
from factories import make_result

from groundtruth.core.beds import Bed
from groundtruth.core.errors import InputError
from groundtruth.core.measured import Measured
from groundtruth.io.sheets.bed_lengths import read_bed_lengths
from groundtruth.seeding.seed_need import beds_of, seed_needed

BEDS = [Bed(name="1", length_m=40, lines=3), Bed(name="2", length_m=30, lines=1)]


def test_by_hand():
    """150 m of row × 20 seeds, 4 % lost: 3125 seeds, 50 g at 62.5 a gram, 10 g stay behind."""
    need = seed_needed(
        BEDS,
        Measured(20.0),
        seeds_per_kg=Measured(62_500),
        loss=0.04,
        left_in_hopper_kg=0.010,
        in_bag_kg=0.0595,
    )
    assert need.row_length_m == 150
    assert need.mass_kg is not None
    assert need.mass_kg.value == pytest.approx(0.060)
    assert need.seeds.value == pytest.approx(3125 + 625)
    assert need.take_kg == pytest.approx(0.060)
    assert need.enough == 0


def test_take_suffices_95_times_in_100():
    """100,000 seeded draws of the seeder and the seed."""
    per_m, per_kg = Measured(20.0, 0.8), Measured(62_500, 2500)
    need = seed_needed(BEDS, per_m, seeds_per_kg=per_kg)
    rng = np.random.default_rng(2)
    draws = (
        150 * (per_m.value + per_m.std * rng.normal(size=100_000))
        / (per_kg.value + per_kg.std * rng.normal(size=100_000))
    )  # fmt: skip
    assert need.take_kg is not None
    assert (draws <= need.take_kg).mean() == pytest.approx(0.95, abs=0.005)


def test_chance_that_the_bag_suffices():
    need = seed_needed(BEDS, Measured(20.0, 1.0), seeds_per_kg=Measured(60_000), in_bag_kg=0.05)
    assert need.enough == pytest.approx(0.5)


def test_without_weights():
    need = seed_needed(BEDS, Measured(20.0, 1.0))
    assert (need.mass_kg, need.take_kg, need.enough) == (None, None, None)
    assert need.take_seeds == pytest.approx(3000 * np.exp(1.645 * 0.05), rel=1e-4)


def test_beds_from_a_sheet(tmp_path):
    path = tmp_path / "beds.csv"
    path.write_text("bed,length ft,lines,crop\nN1,100,3,chard\nN2,50 m,,\nN3,20,,kale\n")
    beds = read_bed_lengths(path, crop="Chard", lines=2)
    assert [b.name for b in beds] == ["N1", "N2"]
    assert beds[0].length_m == pytest.approx(30.48)
    assert (beds[0].lines, beds[1].lines, beds[1].length_m) == (3, 2, 50)


def test_beds_of_a_run():
    """Odd passes of the invented run are beetroot; a pass sows as many lines as there are units."""
    result = make_result(passes=4, units=("A", "B", "C"))
    beds = beds_of(result, crop="beetroot")
    assert [b.name for b in beds] == ["N1", "N3"]
    assert {b.lines for b in beds} == {3}
    lengths = {p.number: p.distance.value for p in result.passes}
    assert beds[0].length_m == lengths[1]
    assert len(beds_of(result)) == 4


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: seed_needed([], Measured(20)), "no beds"),
        (lambda: Bed(name="x", length_m=0), "length is 0"),
        (lambda: Bed(name="x", length_m=5, lines=0), "lines is 0"),
        (lambda: seed_needed(BEDS, Measured(0)), "seeds per metre"),
        (lambda: seed_needed(BEDS, Measured(1), loss=4), "write 0.04 for 4 %"),
        (lambda: seed_needed(BEDS, Measured(1), in_bag_kg=1), "seeds per gram is missing"),
        (
            lambda: seed_needed(BEDS, Measured(1), seeds_per_kg=Measured(1), in_bag_kg=-1),
            "cannot be below 0",
        ),
    ],
)
def test_bad_input(make, says):
    with pytest.raises(InputError, match=says):
        make()
