"""Random processes in state-space form against the matrix exponential of their equations.

For dx = A·x·dt + noise of spectral density C, F = e^(A·t) and Q = ∫₀ᵗ e^(A·s)·C·e^(A·s)ᵀ ds, which
C. Van Loan's block matrix gives (IEEE Trans. Automatic Control 23, 1978, 395-404, from memory).
The equations are those of the process and its derivative; S takes the modes of the components
there.
"""

from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.linalg import expm, solve_continuous_lyapunov

from groundtruth.estimator.components import (
    GaussMarkov,
    IntegratedGaussMarkov,
    SmoothedGaussMarkov,
)

STD, TIME_S, RISE_S = 0.9, 22.0, 8.0
EQUATIONS = {
    GaussMarkov: ([[-1 / TIME_S]], [[2 * STD**2 / TIME_S]]),
    SmoothedGaussMarkov: (
        [[0, 1], [-1 / (TIME_S * RISE_S), -1 / TIME_S - 1 / RISE_S]],
        [[0, 0], [0, 2 * STD**2 * (TIME_S + RISE_S) / (TIME_S * RISE_S) ** 2]],
    ),
    IntegratedGaussMarkov: ([[0, 1], [0, -1 / TIME_S]], [[0, 0], [0, 2 * STD**2 / TIME_S]]),
}
S = {
    GaussMarkov: np.eye(1),
    SmoothedGaussMarkov: np.array([[1, 1], [-1 / TIME_S, -1 / RISE_S]]),
    IntegratedGaussMarkov: np.array([[1, 1], [0, -1 / TIME_S]]),
}


def van_loan(equation, step_s):
    """F and Q of a step."""
    a, c = map(np.array, EQUATIONS[equation])
    n = len(a)
    block = expm(np.block([[-a, c], [np.zeros_like(a), a.T]]) * step_s)
    f = block[n:, n:].T
    return f, f @ block[:n, n:]


def symmetric(entries, n):
    out = np.zeros((n, n))
    for (i, j), value in entries.items():
        out[i, j] = out[j, i] = value
    return out


def taken(kind, diagonal, noise):
    """F and Q of the modes as those of the process and its derivative."""
    s, n = S[kind], len(S[kind])
    return s @ np.diag(diagonal) @ np.linalg.inv(s), s @ symmetric(noise, n) @ s.T


STEPS_S = [0.01, 0.2, 1.0, 30.0, 100.0]


@pytest.mark.parametrize("step_s", STEPS_S)
@pytest.mark.parametrize("kind", [GaussMarkov, SmoothedGaussMarkov])
def test_a_stationary_component_solves_its_equation(kind, step_s):
    p = {"size": np.array(STD), "lasts": np.array(TIME_S), "rise": np.array(RISE_S)}
    component = kind(*list(p)[: len(fields(kind))])
    f, q = van_loan(kind, step_s)
    step = np.array(step_s)
    ours = taken(kind, component.transition(p, step), component.process_noise(p, step))
    assert_allclose(ours[0], f, rtol=1e-9, atol=1e-12)
    assert_allclose(ours[1], q, rtol=1e-6, atol=1e-13)
    start = S[kind] @ symmetric(component.stationary(p), len(f)) @ S[kind].T
    a, c = map(np.array, EQUATIONS[kind])
    assert_allclose(start, solve_continuous_lyapunov(a, -c), rtol=1e-9, atol=1e-15)
    for lag in (step, -step):
        assert_allclose(component.covariance(p, lag), (f @ start)[0, 0], rtol=1e-9, atol=1e-12)


@pytest.mark.parametrize("step_s", STEPS_S)
def test_an_integrated_process_solves_its_equation(step_s):
    driven, step = IntegratedGaussMarkov(np.array(STD**2), np.array(TIME_S)), np.array(step_s)
    f, q = van_loan(IntegratedGaussMarkov, step_s)
    ours = taken(IntegratedGaussMarkov, driven.transition(step), driven.process_noise(step))
    assert_allclose(ours[0], f, rtol=1e-9, atol=1e-12)
    assert_allclose(ours[1], q, rtol=2e-6, atol=1e-13)
    start = S[IntegratedGaussMarkov] @ symmetric(driven.start(), 2) @ S[IntegratedGaussMarkov].T
    assert_allclose(start, np.diag([0, STD**2]), atol=1e-12)
    # from a speed in its stationary spread on: the variance of the change, and with that speed
    spread = f @ start @ f.T + q
    assert_allclose(driven.structure(step), spread[0, 0], rtol=1e-9)
    assert_allclose(driven.structure_slope(step), spread[0, 1], rtol=1e-9)
    assert_allclose(driven.structure_slope(-step), -spread[0, 1], rtol=1e-9)
    assert_allclose(driven.covariance(step), f[1, 1] * STD**2, rtol=1e-9)
