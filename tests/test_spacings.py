"""Evenness along the row by the definitions of ISO 7256-1 (as quoted by Iowa State University,
*Plant uniformity measurements*): multiples up to 0.5 x, singles up to 1.5 x, misses above.
"""

import numpy as np
import pytest

from groundtruth.core.errors import InputError
from groundtruth.io.sheets.spacings import read_spacings
from groundtruth.seeding.plant_spacing import PRACTICAL_LIMIT_OF_PRECISION, spacing_indices

SPACINGS_CM = [4, 5, 5.1, 8, 10, 12, 15, 15.1, 21, 26]


def test_worked_set():
    """Ten spacings about 10 cm: 2 multiples, 5 singles, 3 misses; singles 5.1, 8, 10, 12, 15 have
    a standard deviation of 3.775 cm, 37.75 % of the spacing aimed at (reckoned by hand)."""
    found = spacing_indices([s / 100 for s in SPACINGS_CM], 0.10)
    assert (found.multiples, found.quality_of_feed, found.misses) == (0.2, 0.5, 0.3)
    assert found.precision is not None
    assert f"{found.precision:.4f}" == "0.3775"


def test_seeds_without_order():
    """Singles spread evenly between the bounds: 1/√12 = 28.9 % (100,000 seeded spacings)."""
    spacings = np.random.default_rng(1).uniform(0.05, 0.15, 100_000)
    found = spacing_indices(list(spacings), 0.10)
    assert found.precision == pytest.approx(PRACTICAL_LIMIT_OF_PRECISION, abs=0.002)


def test_a_ruler_has_precision_0():
    found = spacing_indices([0.1] * 20, 0.1)
    assert (found.precision, found.quality_of_feed) == (pytest.approx(0), 1)
    assert found.quality_of_feed_95[1] == 1
    assert found.misses_95 == (0, pytest.approx(0.168, abs=0.001))  # exact limits of 0 of 20


def test_one_single_has_no_precision():
    assert spacing_indices([0.1, 0.3], 0.1).precision is None


def test_sheet(tmp_path):
    path = tmp_path / "spacings.csv"
    path.write_text("spacing cm,bed\n4.5,N1\n0,N1\n2 in,N1\n")
    assert read_spacings(path) == pytest.approx((0.045, 0.0, 0.0508))
    path.write_text("spacing\n\n4.5\n")
    with pytest.raises(InputError, match=r"line 3: .*no unit"):
        read_spacings(path)


@pytest.mark.parametrize(
    ("spacings", "wanted", "says"),
    [([], 0.1, "no spacings"), ([0.1], 0.0, "aimed at is 0"), ([-0.1], 0.1, "is -0.1 m")],
)
def test_bad_input(spacings, wanted, says):
    with pytest.raises(InputError, match=says):
        spacing_indices(spacings, wanted)
