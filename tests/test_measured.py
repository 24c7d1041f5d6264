"""Values with uncertainty: the two rules of arithmetic against simulation and limits."""

import numpy as np
import pytest

from groundtruth.core.measured import Measured, widened_interval


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


def test_a_widened_interval_agrees_with_simulation():
    """400,000 seeded draws of a log-normal quantity times an independent log-normal factor."""
    rng = np.random.default_rng(2)
    own, factor = (np.exp(u * rng.normal(size=400_000)) for u in (0.10, 0.07))
    alone = tuple(np.quantile(own, [0.025, 0.975]))
    both = np.quantile(own * factor, [0.025, 0.975])
    assert widened_interval(alone, 1.0, 0.07) == pytest.approx(both, rel=0.005)


def test_an_end_at_nothing_stays_there():
    assert widened_interval((0.0, 0.2), 0.0, 0.1) == (0.0, pytest.approx(0.2 * np.exp(0.196)))
    assert widened_interval((0.0, 0.2), 0.1, 0.0) == (0.0, 0.2)
