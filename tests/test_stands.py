"""Field emergence from stand counts. Simulated truth is ours."""

import numpy as np
import pytest

from groundtruth.core.counts import StandCount
from groundtruth.core.errors import InputError
from groundtruth.core.measured import Measured
from groundtruth.io.sheets.stands import read_stands
from groundtruth.seeding.stand_emergence import emergence


def count(plants, length_m=2.0, seeds_per_m=40.0):
    return StandCount(
        crop="chard", seed_lot="L", length_m=length_m, plants=plants, seeds_per_m=seeds_per_m
    )


def test_by_hand():
    """112 plants from 160 seeds, 0.8 able to grow: 70 % of the seeds, 87.5 % emergence."""
    found = emergence([count(58), count(54)], germination=Measured(0.8))
    assert found.of_seeds.value == pytest.approx(0.7)
    assert found.of_seeds.std == pytest.approx((0.7 * 0.3 / 160) ** 0.5)
    assert found.field_emergence.value == pytest.approx(0.875)
    assert found.plants_per_m.value == 28
    assert found.dispersion.assumed


def test_uncertain_seeds_dropped_stay():
    """A relative error that all counts share does not average out."""
    found = emergence([count(56, seeds_per_m=None)] * 40, seeds_per_m=Measured(40.0, 2.0))
    assert found.of_seeds.relative == pytest.approx(0.05, rel=0.02)
    low, high = found.of_seeds_95
    assert np.log(high / low) / 2 == pytest.approx(1.96 * 0.05, rel=0.02)


@pytest.mark.parametrize("patchy", [0.0, 0.12])
def test_interval_holds(patchy):
    """400 seeded fields of six lengths, alike or patchy: 92 to 98 % hold the mean share."""
    rng = np.random.default_rng(5)
    hits = 0
    for _ in range(400):
        counts = []
        for _ in range(6):
            share = np.clip(0.65 + patchy * rng.normal(), 0.02, 0.98)
            counts.append(count(int(rng.binomial(80, share))))
        low, high = emergence(counts).of_seeds_95
        hits += low <= 0.65 <= high
    assert 0.92 <= hits / 400 <= 0.98


def test_nothing_came_up():
    found = emergence([count(0)])
    assert found.of_seeds.value == 0
    assert found.of_seeds_95[0] == 0
    assert 0.03 < found.of_seeds_95[1] < 0.05  # 3.69/80, the rule for no events


def test_more_plants_than_seeds():
    """A few more can happen where seed stuck together; many more is a mistake."""
    assert emergence([count(84)]).of_seeds.value == pytest.approx(1.05)
    with pytest.raises(InputError, match="120 plants from 80 seeds"):
        emergence([count(120)])


def test_seeds_dropped_must_be_known():
    with pytest.raises(InputError, match="give seeds_per_metre"):
        emergence([count(5, seeds_per_m=None)])
    with pytest.raises(InputError, match="no stand counts"):
        emergence([])


def test_sheet(tmp_path):
    path = tmp_path / "stands.csv"
    path.write_text(
        "date;crop;seed lot;bed;line;length;plants;seeds per foot\n"
        "2026-06-01;chard;L;N1;1;10 ft;60;12,5\n"
        "2026-06-01;kale;;N2;2;3 m;40;\n"
    )
    stands = read_stands(path)
    assert stands.lots == (("chard", "L"), ("kale", ""))
    (first,) = stands.of("chard", "L")
    assert first.length_m == pytest.approx(3.048)
    assert first.seeds_per_m == pytest.approx(12.5 / 0.3048)
    assert (first.bed, first.line_of_bed, first.line) == ("N1", "1", 2)


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("2026-06-01,chard,0 m,5", "above 0"),
        ("2026-06-01,chard,,5", "length is empty"),
        ("2026-06-01,chard,2 m,-5", "plants is -5"),
        ("2026-06-01,chard,2 m,5.5", "whole number"),
        ("1/6/26,chard,2 m,5", "the year of a date needs four digits"),
    ],
)
def test_bad_lines(tmp_path, line, says):
    path = tmp_path / "stands.csv"
    path.write_text(f"date,crop,length,plants\n{line}\n")
    with pytest.raises(InputError, match=f"stands.csv, line 2: .*{says}"):
        read_stands(path)
