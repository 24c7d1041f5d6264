"""Values with uncertainty: the two rules of arithmetic against simulation and limits."""

import numpy as np
import pytest

from groundtruth.core.measured import Measured
from groundtruth.stats.uncertainty import Contribution, combine


def test_product_and_quotient_agree_with_simulation():
    """First-order propagation against 400,000 seeded draws of independent normal errors."""
    rng = np.random.default_rng(1)
    a, b = Measured(5.0, 0.05), Measured(2.0, 0.03)
    draws_a, draws_b = (m.value + m.std * rng.normal(size=400_000) for m in (a, b))
    assert a.times(b).std == pytest.approx((draws_a * draws_b).std(), rel=0.01)
    assert a.per(b).std == pytest.approx((draws_a / draws_b).std(), rel=0.01)
    assert a.per(b).value == 2.5


def test_interval_of_a_normal():
    """±1.96 u for 95 %, ±1.645 u for 90 % [JCGM 100:2008, table G.1]."""
    assert Measured(0.0, 1.0).interval() == pytest.approx((-1.96, 1.96), abs=0.001)
    assert Measured(0.0, 1.0).interval(0.9) == pytest.approx((-1.645, 1.645), abs=0.001)


def test_scaling_by_a_negative_factor_keeps_the_uncertainty_positive():
    turned = Measured(2.0, 0.1).scaled(-3.0)
    assert (turned.value, turned.std) == (pytest.approx(-6.0), pytest.approx(0.3))


@pytest.mark.parametrize(("value", "std"), [(float("nan"), 0.1), (1.0, -0.1), (1.0, float("inf"))])
def test_what_is_no_figure_is_refused(value, std):
    with pytest.raises(ValueError, match="must be"):
        Measured(value, std)


def test_no_degrees_of_freedom_from_nothing():
    with pytest.raises(ValueError, match="degrees of freedom"):
        Contribution(std=1.0, degrees_of_freedom=0)
    with pytest.raises(ValueError, match="0 or more"):
        Contribution(std=-1.0)


def test_one_contribution_keeps_its_degrees_of_freedom():
    combined = combine([Contribution(std=2.0, sensitivity=-3.0, degrees_of_freedom=7)])
    assert (combined.std, combined.degrees_of_freedom) == (pytest.approx(6.0), pytest.approx(7.0))
