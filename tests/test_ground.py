"""Slope, bow and weave: from the length in the plane to the ground under the wheel."""

from __future__ import annotations

import math

import numpy as np
import pytest

from groundtruth.core.measured import Measured
from groundtruth.estimator.ground_factors import (
    UNKNOWN_SLOPE,
    WEAVE,
    bow_factor,
    height_line,
    measured_sinuosity,
    slope_factors,
)
from groundtruth.estimator.priors import PHONE, SURVEY


def lines(slope, *, passes=10, drift=0.02, length=100.0, seed=0):
    """Height lines of passes to and fro over ground of one slope, each with its own drift."""
    rng = np.random.default_rng(seed)
    along = np.linspace(-length / 2, length / 2, 101)
    out = []
    for number in range(passes):
        sign = 1 if number % 2 == 0 else -1
        seen = sign * slope * along + rng.normal(0, drift) * along + 80.0
        out.append(height_line(along, seen, 30.0 if sign > 0 else 210.0))
    return out


def test_eight_per_cent_of_slope():
    """√(1 + 0.08²) = 1.00320: 8 % lengthens the ground by 0.32 % (geometry)."""
    for factor in slope_factors(lines(0.08)):
        assert factor.value == pytest.approx(1.0032, abs=3 * factor.std)
        assert factor.std < 0.0008


@pytest.mark.parametrize("seed", range(20))
def test_drifting_heights_on_the_level_are_no_slope(seed):
    (factor, *_) = slope_factors(lines(0.0, seed=seed))
    assert factor.value == pytest.approx(1.0, abs=0.0004)


def test_without_heights_the_slope_is_unknown_not_zero():
    assert height_line(np.arange(10.0), np.full(10, np.nan), 0.0) is None
    assert slope_factors([None]) == (UNKNOWN_SLOPE,)


def test_one_pass_alone_is_told_its_slope_by_heights_good_to_centimetres():
    (steep, *_) = lines(0.08)
    phone, survey = (slope_factors([steep], r)[0] for r in (PHONE.name, SURVEY.name))
    assert survey.value == pytest.approx(math.sqrt(1 + steep.slope**2), rel=1e-6)
    assert survey.std < phone.std / 50
    assert UNKNOWN_SLOPE.std > 0


def test_a_bow_is_longer_than_its_chord():
    """An arc of radius R over half-angle a: 2Ra against the chord 2R·sin a (geometry)."""
    radius, half = 1000.0, 0.05
    chord, sagitta = 2 * radius * np.sin(half), radius * (1 - np.cos(half))
    factor = bow_factor(Measured(sagitta, 0.0), chord)
    assert factor.value == pytest.approx(2 * radius * half / chord, rel=1e-6)
    lost = bow_factor(Measured(0.3, 1.0), 100.0)
    assert lost.value == 1.0
    assert lost.std > 0


def test_a_weave_lengthens_by_its_mean_squared_slope():
    """A sine of amplitude A and length λ is longer by (πA/λ)² (arc length to second order)."""
    amplitude, wave = np.meshgrid(np.linspace(0.05, 0.10, 50), np.linspace(10, 30, 50))
    longer = (np.pi * amplitude / wave) ** 2
    assert WEAVE.value - 1 == pytest.approx(longer.mean(), abs=2 * WEAVE.std)
    assert longer.max() < 1e-3


def test_a_centimetre_receiver_sees_the_winding_itself():
    """A sine of amplitude A and length λ driven at 1 m/s: (πA/λ)², from places with noise."""
    rng = np.random.default_rng(3)
    along = np.arange(0.0, 200.0, 1.0)
    across = 0.08 * np.sin(2 * np.pi * along / 15.0) + rng.normal(0, 0.003, len(along))
    seen = measured_sinuosity(along + rng.normal(0, 0.003, len(along)), across)
    truth = 1 + (np.pi * 0.08 / 15.0) ** 2
    assert abs(seen.value - truth) < 2 * seen.std
    assert seen.std < WEAVE.std / 2
