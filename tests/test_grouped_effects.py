"""Pooling by groups is the same as pooling with dense matrices, to rounding."""

from __future__ import annotations

import tracemalloc

import numpy as np
import pytest

from groundtruth.stats.grouped_effects import fit_grouped_effects, fit_within_groups
from groundtruth.stats.random_effects import fit_random_effects


def a_run(seed, groups, columns, missing=0.2):
    """Labels of counts of which some are missing, their own variances, and what groups share."""
    rng = np.random.default_rng(seed)
    cells = [(p, u) for p in range(groups) for u in range(columns)]
    kept = [c for c in cells if c[0] == 0 or c[1] == 0 or rng.random() > missing]
    rng.shuffle(kept)
    group, column = np.array(kept).T
    root = rng.normal(size=(groups, groups)) * 0.01
    return {
        "figures": rng.normal(size=len(kept)) * 0.03,
        "group": group,
        "column": column,
        "own_variance": rng.uniform(1e-6, 1e-4, len(kept)),
    }, root @ root.T


SHAPES = [(1, 1), (1, 4), (6, 1), (2, 2), (8, 4), (25, 7)]


@pytest.mark.parametrize(("groups", "columns"), SHAPES)
def test_groups_pool_as_dense_matrices_do(groups, columns):
    run, between = a_run(groups + columns, groups, columns)
    z = (run["group"][:, None] == np.arange(groups)).astype(float)
    x = (run["column"][:, None] == np.arange(columns)).astype(float)
    dense = fit_random_effects(
        run["figures"],
        z @ between @ z.T + np.diag(run["own_variance"]),
        prior_scale=0.02,
        design=x,
        between=z @ z.T,
    )
    grouped = fit_grouped_effects(**run, between=between, prior_scale=0.02)
    close = {"rtol": 1e-10, "atol": 1e-10}
    for name in ("spread", "weight", "estimate", "covariance"):
        assert np.allclose(getattr(grouped, name), getattr(dense, name), **close), name
    factors = np.random.default_rng(1).normal(size=columns)
    rows = np.einsum("c,gcm->gm", factors, dense.estimator)
    assert np.allclose(grouped.sensitivities(factors), rows, **close)


@pytest.mark.parametrize(("groups", "columns"), SHAPES)
def test_counts_without_error_pool_alike(groups, columns):
    """Counts that agree on every pass: the dense matrix is near singular and loses ten digits."""
    run, between = a_run(groups + columns, groups, columns)
    run["own_variance"] = np.zeros_like(run["own_variance"])
    run["figures"] = run["figures"][run["group"]] + 0.1 * run["column"]
    z = (run["group"][:, None] == np.arange(groups)).astype(float)
    x = (run["column"][:, None] == np.arange(columns)).astype(float)
    dense = fit_random_effects(
        run["figures"], z @ between @ z.T, prior_scale=0.02, design=x, between=z @ z.T
    )
    grouped = fit_grouped_effects(**run, between=between, prior_scale=0.02)
    mean = np.full(columns, 1 / columns)
    ours, theirs = grouped.contrast(mean).moments(), dense.contrast(mean).moments()
    assert ours.value == pytest.approx(theirs.value, rel=1e-4)
    assert ours.std == pytest.approx(theirs.std, rel=3e-3)


@pytest.mark.parametrize(("groups", "columns"), [(1, 4), (2, 2), (8, 4), (25, 7)])
def test_differences_within_groups_are_those_of_dense_matrices(groups, columns):
    run, _ = a_run(groups + columns, groups, columns)
    z = (run["group"][:, None] == np.arange(groups)).astype(float)
    x = (run["column"][:, None] == np.arange(1, columns)).astype(float)
    dense = fit_random_effects(
        run["figures"], np.diag(run["own_variance"]), prior_scale=0.01, design=np.hstack([z, x])
    )
    within = fit_within_groups(**run, prior_scale=0.01)
    assert np.allclose(within.weight, dense.weight, rtol=1e-10, atol=1e-10)
    assert np.allclose(within.estimate, dense.estimate[:, groups:], rtol=1e-10, atol=1e-10)
    ours = dense.covariance[:, groups:, groups:]
    assert np.allclose(within.covariance, ours, rtol=1e-10, atol=1e-10)


@pytest.mark.parametrize(("groups", "columns"), [(1200, 4), (60, 100), (60, 400)])
def test_no_matrix_over_all_counts_is_made(groups, columns):
    run, between = a_run(3, groups, columns, missing=0.0)
    m = len(run["figures"])
    tracemalloc.start()
    fit_grouped_effects(**run, between=between, prior_scale=0.02)
    fit_within_groups(**run, prior_scale=0.01)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    # some vectors over counts, groups and pairs of columns for each of 64 spreads; pairs of groups
    assert peak < 8 * (6 * 64 * (m + groups + columns**2) + 12 * groups**2)
