"""Random effects of grouped figures, exact, in time and memory linear in the figures.

The counts of a run come in groups: all row units of a pass share the ground under it. With group
labels p(i) and columns u(i) the model of `random_effects` is then

    y_i = β_u(i) + a_p(i) + e_i,    a ~ N(0, S + t²·I),    e_i ~ N(0, d_i)

and the covariance of all figures is V = Z(S + t²I)Zᵀ + D with Z the labels as a matrix. For it

    V⁻¹ = (D⁻¹ − PᵀWP) + Pᵀ(S + W⁻¹ + t²I)⁻¹P,    W = ZᵀD⁻¹Z,    P = W⁻¹ZᵀD⁻¹
    det V = det D · det W · det(S + W⁻¹ + t²I)

by the Woodbury identity and the matrix determinant lemma [Press et al. 2007, Numerical Recipes,
2.7.3, from memory], since W is diagonal: P takes the mean of each group. What is left to be
diagonalised once is a matrix over groups, not over figures.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .random_effects import Array, Coefficients, spread_grid, weights_of

Labels = NDArray[np.intp]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GroupedEffects(Coefficients):
    """The coefficients of grouped figures, and what each figure moves them by."""

    parts: _Parts

    def sensitivities(self, factors: Array) -> Array:
        """Derivative (g, m) of the combination ``factors`` (c,) by each figure."""
        one = self.covariance @ factors  # (g, c)
        parts = self.parts
        by_group = parts.group_precision(self.spread, one @ parts.mean_design.T)
        within = one[:, parts.column] - (one @ parts.mean_design.T)[:, parts.group]
        return np.asarray(within / parts.own + by_group[:, parts.group] * parts.share)


class _Parts:
    """The figures with their groups' means taken apart, which no spread changes."""

    def __init__(
        self, figures: Array, group: Labels, column: Labels, own: Array, between: Array
    ) -> None:
        groups, columns = len(between), int(column.max()) + 1
        self.group, self.column, self.own = group, column, own
        self.weight = np.bincount(group, 1 / own, groups)  # the diagonal of W
        self.share = 1 / own / self.weight[group]  # of each figure in its group's mean
        self.mean_figure = np.bincount(group, self.share * figures, groups)
        # each figure has one column: the means of the design are sums over cells of a grid
        cells = np.bincount(group * columns + column, self.share, groups * columns)
        self.mean_design: Array = cells.reshape(groups, columns).astype(np.float64)
        self.figures = figures
        weighted = self.mean_design * self.weight[:, None]
        self.within = np.diag(np.bincount(column, 1 / own, columns)) - self.mean_design.T @ weighted
        centred = figures - self.mean_figure[group]
        self.within_figures = np.bincount(column, centred / own, columns)
        self.root, self.axes = np.linalg.eigh(between + np.diag(1 / self.weight))
        self.log_det = float(np.log(own).sum() + np.log(self.weight).sum())

    def group_precision(self, spread: Array, vectors: Array) -> Array:
        """(S + W⁻¹ + t²I)⁻¹ times vectors over groups (g, k), one for each spread."""
        scale = self.root + np.square(spread)[:, None]
        return np.asarray((vectors @ self.axes / scale) @ self.axes.T)


def fit_grouped_effects(
    figures: Array,
    *,
    group: Labels,
    column: Labels,
    own_variance: Array,
    between: Array,
    prior_scale: float,
) -> GroupedEffects:
    """The coefficients of all columns at each spread of a grid, as `fit_random_effects` gives them.

    Parameters
    ----------
    figures : (m,) the figures y.
    group, column : (m,) the group of each figure, from 0 to k − 1, and its column, from 0 to c − 1;
        each occurs.
    own_variance : (m,) variance of each figure's own error.
    between : (k, k) covariance S of what the figures of a group share, positive semi-definite.
    prior_scale : scale of the half-t prior of the spread, in the unit of the figures.

    >>> found = fit_grouped_effects(
    ...     np.array([1.0, 3.0]), group=np.array([0, 1]), column=np.array([0, 0]),
    ...     own_variance=np.ones(2), between=np.zeros((2, 2)), prior_scale=1.0)
    >>> round(float(found.estimate[0, 0]), 6)
    2.0
    """
    floor = 1e-4 * prior_scale
    parts = _Parts(figures, group, column, own_variance + floor**2, between)
    spread = spread_grid(prior_scale)
    turned_design = parts.axes.T @ parts.mean_design
    turned_figure = parts.axes.T @ parts.mean_figure
    scale = parts.root + np.square(spread)[:, None]  # (g, k)
    between_groups = [turned_design.T @ (turned_design / one[:, None]) for one in scale]
    information = parts.within + np.array(between_groups)
    covariance = np.linalg.inv(information)
    right = parts.within_figures + (turned_figure / scale) @ turned_design
    estimate = np.einsum("gcd,gd->gc", covariance, right)
    residual = figures - estimate[:, column]  # (g, m)
    mean = parts.mean_figure - estimate @ parts.mean_design.T  # (g, k)
    squares = (np.square(residual - mean[:, group]) / parts.own).sum(axis=1)
    squares += (np.square(mean @ parts.axes) / scale).sum(axis=1)
    log_likelihood = -0.5 * (
        parts.log_det + np.log(scale).sum(axis=1) + np.linalg.slogdet(information)[1] + squares
    )
    return GroupedEffects(
        spread=spread,
        weight=weights_of(log_likelihood),
        estimate=estimate,
        covariance=covariance,
        parts=parts,
    )


def fit_within_groups(
    figures: Array, *, group: Labels, column: Labels, own_variance: Array, prior_scale: float
) -> Coefficients:
    """Differences of the columns from the first, at each spread of a grid, from the differences of
    figures within groups alone: y_i = α_p(i) + β_u(i) + r_i + e_i with free α and r_i ~ N(0, t²).

    Parameters are those of `fit_grouped_effects`; β of column 0 is 0 and left out. The columns are
    connected through the groups.
    """
    floor = 1e-4 * prior_scale
    spread = spread_grid(prior_scale)
    groups, columns = int(group.max()) + 1, int(column.max()) + 1
    cell = group * columns + column
    estimates, covariances, log_likelihood = [], [], []
    for t in spread:
        own = own_variance + floor**2 + t**2
        by_group = np.bincount(group, 1 / own, groups)
        grid = np.bincount(cell, 1 / own, groups * columns).reshape(groups, columns)[:, 1:]
        mean = np.bincount(group, figures / own, groups) / by_group
        alone = np.diag(np.bincount(column, 1 / own, columns)[1:])
        information = alone - grid.T @ (grid / by_group[:, None])
        covariance = np.linalg.inv(information)
        centred = (figures - mean[group]) / own
        beta = covariance @ np.bincount(column, centred, columns)[1:]
        residual = figures - np.append(0.0, beta)[column]
        residual -= (np.bincount(group, residual / own, groups) / by_group)[group]
        estimates.append(beta)
        covariances.append(covariance)
        log_likelihood.append(
            -0.5
            * (
                np.log(own).sum()
                + np.log(by_group).sum()
                + np.linalg.slogdet(information)[1]
                + (residual**2 / own).sum()
            )
        )
    return Coefficients(
        spread=spread,
        weight=weights_of(np.array(log_likelihood)),
        estimate=np.array(estimates),
        covariance=np.array(covariances),
    )
