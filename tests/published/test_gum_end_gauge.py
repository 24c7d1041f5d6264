"""JCGM 100:2008 (GUM), example H.1, end-gauge calibration, and its rules of thumb.

The figures are those printed there, read from a public transcription; lengths in nanometres.
"""

from math import sqrt

import pytest

from groundtruth.core.measured import rectangular_std, triangular_std
from groundtruth.stats.uncertainty import Contribution, combine, degrees_of_freedom_of_judgement

LENGTH_NM = 50.000623e6
COMPARISON = [
    Contribution(std=5.8, degrees_of_freedom=24),
    Contribution(std=3.9, degrees_of_freedom=5),
    Contribution(std=6.7, degrees_of_freedom=8),
]


def test_difference_of_the_gauges():
    """H.1.3.2: u(d) = 9.7 nm with 25.6 degrees of freedom, those worked from the rounded 9.7."""
    d = combine(COMPARISON)
    assert f"{d.std:.1f}" == "9.7"
    assert f"{d.degrees_of_freedom * (9.7 / d.std) ** 4:.1f}" == "25.6"


def test_length_of_the_gauge():
    """H.1.5 to H.1.6: u_c 32 nm, 16 degrees of freedom (cut), U99 93 nm.

    The document works from rounded terms, so its last digit may differ by one.
    """
    d = combine(COMPARISON)
    parts = [
        Contribution(std=25.0, degrees_of_freedom=18),
        Contribution(std=d.std, degrees_of_freedom=d.degrees_of_freedom),
        Contribution(std=0.58e-6, sensitivity=LENGTH_NM * -0.1, degrees_of_freedom=50),
        Contribution(std=0.029, sensitivity=LENGTH_NM * 11.5e-6, degrees_of_freedom=2),
    ]
    sizes_nm = [part.size for part in parts]
    assert sizes_nm == [
        25.0,
        pytest.approx(9.7, abs=0.05),
        pytest.approx(2.9, abs=0.05),
        pytest.approx(16.6, abs=0.1),
    ]
    length = combine(parts)
    assert length.std**2 == pytest.approx(1002, abs=4)
    assert round(length.std) == 32
    assert int(length.degrees_of_freedom) == 16
    assert length.expanded(0.99) == pytest.approx(93, abs=1)


def test_shapes():
    """4.3.7 and 4.3.9: a/√3 for an even spread, a/√6 for a triangle."""
    assert rectangular_std(0.05) == pytest.approx(0.05 / sqrt(3))
    assert triangular_std(1.0) == pytest.approx(1 / sqrt(6))


@pytest.mark.parametrize(("doubt", "printed"), [(0.25, 8), (0.10, 50), (0.50, 2)])
def test_doubtful_uncertainties(doubt, printed):
    """G.4.2: an uncertainty reliable to 25 % has 8 degrees of freedom; table E.1 for 10, 50 %."""
    assert degrees_of_freedom_of_judgement(doubt) == pytest.approx(printed)


@pytest.mark.parametrize(
    ("degrees", "level", "printed"),
    [(2, 0.95, 4.30), (10, 0.95, 2.23), (16, 0.99, 2.92), (50, 0.95, 2.01)],
)
def test_t_factors(degrees, level, printed):
    """Table G.2: t factors."""
    combined = combine([Contribution(std=1.0, degrees_of_freedom=degrees)])
    assert f"{combined.coverage_factor(level):.2f}" == f"{printed:.2f}"
