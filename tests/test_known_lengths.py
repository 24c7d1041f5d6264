"""Tape and pegs beside the phone: how what is known of a length enters."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from groundtruth.core.measured import Measured
from groundtruth.core.uncertainty import UncertaintySource as Source
from groundtruth.estimator import with_known_lengths

D = np.array([100.0, 104.0, 98.0])
C = {Source.POSITION: np.diag([4.0, 4.0, 4.0]), Source.SLOPE: np.full((3, 3), 0.01)}


def total(sources):
    return sum(sources.values())


def test_one_taped_pass_is_a_weighted_mean():
    """Two independent values of one quantity: weights by 1/u² (JCGM 100:2008, H.3 and practice)."""
    taped = [Measured(101.0, 1.0), None, None]
    alone = {Source.POSITION: np.diag([4.0, 4.0, 4.0])}
    d, sources = with_known_lengths(D, alone, taped=taped)
    assert d == pytest.approx([(100 / 4 + 101 / 1) / (1 / 4 + 1), 104, 98])
    assert total(sources)[0, 0] == pytest.approx(1 / (1 / 4 + 1))
    assert sources[Source.TAPED][0, 0] == pytest.approx((0.8 * 1.0) ** 2)


def test_a_common_tape_is_generalised_least_squares():
    """The same by the information form: (C⁻¹ + AᵀR⁻¹A)⁻¹ (Gauss-Markov theorem with a prior)."""
    common, stray = Measured(101.0, 0.2), 0.3
    d, sources = with_known_lengths(D, C, taped=[None] * 3, common=common, alike_std_m=stray)
    r = stray**2 * np.eye(3) + 0.2**2
    information = np.linalg.inv(total(C)) + np.linalg.inv(r)
    pulled = np.linalg.inv(total(C)) @ D + np.linalg.inv(r) @ np.full(3, 101.0)
    assert_allclose(d, np.linalg.solve(information, pulled), rtol=1e-6)
    assert_allclose(total(sources), np.linalg.inv(information), rtol=1e-5)


def test_alike_beds_share_their_length_but_not_a_common_error():
    d, sources = with_known_lengths(D, C, taped=[None] * 3, alike_std_m=0.0)
    assert_allclose(d, np.full(3, D.mean()), atol=1e-6)
    assert total(sources)[0, 0] == pytest.approx(4 / 3 + 0.01, rel=1e-4)
    assert sources[Source.SLOPE][0, 0] == pytest.approx(0.01)
    assert sources[Source.PEGGED].max() < 1e-6


def test_nothing_known_changes_nothing():
    d, sources = with_known_lengths(D, C, taped=[None] * 3)
    assert_allclose(d, D)
    assert set(sources) == set(C)


def test_a_tape_without_limits_gets_the_usual_ones():
    _, sources = with_known_lengths(D, C, taped=[Measured(100.0), None, None])
    # ± 0.2 % as an even spread: 0.2/√3 m [JCGM 100:2008, 4.3.7]
    assert total(sources)[0, 0] == pytest.approx((0.2 / 3**0.5) ** 2, rel=0.01)
