"""Welch's test on the worked example of the NIST/SEMATECH e-Handbook, 1.3.5.3 (from memory).

Miles per gallon of 249 cars from one country and 79 from another: means 20.14458 and 30.48101,
standard deviations 6.414700 and 6.107710; printed T = -12.94627 with 136.8750 degrees of freedom.
The test needs no more of the values than that, so that any with these moments will do.
"""

import numpy as np
import pytest

from groundtruth.stats.two_means import welch_test


def values(n, mean, std):
    even = np.arange(n, dtype=float)
    return (mean + std * (even - even.mean()) / even.std(ddof=1)).tolist()


def test_welch_of_the_handbook():
    found = welch_test(values(249, 20.14458, 6.414700), values(79, 30.48101, 6.107710))
    assert f"{-found.difference / found.std:.5f}" == "-12.94627"
    assert f"{found.degrees_of_freedom:.4f}" == "136.8750"
    low, high = found.interval
    assert (low + high) / 2 == pytest.approx(found.difference)
    # Student's t of 100 and of endless degrees of freedom [JCGM 100:2008, table G.2]
    assert 1.960 < (high - low) / 2 / found.std < 1.984
    assert found.p_value < 1e-20
