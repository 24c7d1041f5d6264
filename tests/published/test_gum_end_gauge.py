"""JCGM 100:2008 (GUM), example H.1, end-gauge calibration, and its rules of thumb.

The figures are those printed there, read from a public transcription; lengths in nanometres.
"""

from math import hypot, sqrt

import pytest

from groundtruth.core.measured import Measured, rectangular_std, triangular_std
from groundtruth.stats.intervals import coverage_factor

GAUGE_NM = 50.000623e6


def test_length_of_the_gauge():
    """H.1.3 to H.1.6: l = l_S + d - l_S(dα·θ + α_S·dθ); contributions 25, 9.7, 2.9 and 16.6 nm,
    u_c 32 nm, U99 93 nm with 16 degrees of freedom.

    The document works from rounded terms, so its last digit may differ by one.
    """
    comparison = Measured(215.0, hypot(5.8, 3.9, 6.7))
    assert f"{comparison.std:.1f}" == "9.7"
    expansion = Measured(0.0, 0.58e-6).times(Measured(-0.1)).scaled(GAUGE_NM)
    warmth = Measured(11.5e-6).times(Measured(0.0, 0.029)).scaled(GAUGE_NM)
    assert expansion.std == pytest.approx(2.9, abs=0.05)
    assert warmth.std == pytest.approx(16.6, abs=0.1)
    std = hypot(25.0, comparison.std, expansion.std, warmth.std)
    assert std**2 == pytest.approx(1002, abs=4)
    assert round(std) == 32
    assert GAUGE_NM + comparison.value == pytest.approx(50.000838e6, abs=0.5)
    assert coverage_factor(16, 0.99) * std == pytest.approx(93, abs=1)


def test_shapes():
    """4.3.7 and 4.3.9: a/√3 for an even spread, a/√6 for a triangle."""
    assert rectangular_std(0.05) == pytest.approx(0.05 / sqrt(3))
    assert triangular_std(1.0) == pytest.approx(1 / sqrt(6))


@pytest.mark.parametrize(
    ("degrees", "level", "printed"),
    [(2, 0.95, 4.30), (10, 0.95, 2.23), (16, 0.99, 2.92), (50, 0.95, 2.01)],
)
def test_t_factors(degrees, level, printed):
    """Table G.2: t factors."""
    assert f"{coverage_factor(degrees, level):.2f}" == f"{printed:.2f}"
