"""Random effects nested in each other, with known errors, in time linear in the figures.

The figures y (n,) follow

    y = X·β + Z₁·a₁ + … + Z_L·a_L + e,    a_l ~ N(0, θ_l·I),    e_i ~ N(0, v_i)

with labels Z_l nested in each other (a farm holds seeders, a seeder holds days) and known v: the
meta-analytic multilevel model [Konstantopoulos 2011, Research Synthesis Methods 2:61, from memory].
The variances θ are estimated by restricted maximum likelihood (REML; Patterson & Thompson 1971,
Biometrika 58:545, from memory), the coefficients β by generalised least squares.

A group with precision s = 1ᵀV⁻¹1 and u = [X y]ᵀV⁻¹1 that gets an effect of variance θ has, by
Sherman & Morrison (1950, Annals of Mathematical Statistics 21:124, from memory),

    s′ = s/(1 + θs),    u′ = u/(1 + θs),    [X y]ᵀV⁻¹[X y] less by θ/(1 + θs)·uuᵀ,
    log det V more by log(1 + θs)

and what the groups inside a group leave is summed for the next level: no matrix over figures is
ever made.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Labels = NDArray[np.intp]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NestedEffects:
    """The fit. L levels, c coefficients.

    ``estimate`` (c,), ``covariance`` (c, c) and ``degrees_of_freedom`` (c,) of the coefficients;
    ``variance`` (L,) of the effects, outermost level first; ``effect`` the means of each level's
    effects given the figures; ``log_likelihood`` the restricted one with −(n − c)/2·log 2π.
    """

    estimate: Array
    covariance: Array
    degrees_of_freedom: Array
    variance: Array
    effect: tuple[Array, ...]
    log_likelihood: float

    @property
    def std(self) -> Array:
        """Standard errors of the coefficients (c,)."""
        return np.asarray(np.sqrt(np.diag(self.covariance)))

    def interval(self, level: float = 0.95) -> Array:
        """Two-sided intervals of the coefficients (c, 2), by Student's t.

        Degrees of freedom are those of the outermost level within whose groups a column of X does
        not change ("containment"): its groups less the columns of that kind.
        """
        from scipy.special import stdtrit

        reach = stdtrit(self.degrees_of_freedom, 0.5 + level / 2) * self.std
        return np.stack([self.estimate - reach, self.estimate + reach], axis=1)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Level:
    """The groups of one level: where each begins among those inside it, which stand in order."""

    first: Labels
    size: Labels


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Swept:
    """What is left of all figures once every level has its variance."""

    squares: Array  # (c + 1, c + 1), [X y]ᵀV⁻¹[X y]
    log_det: float
    left: list[tuple[Array, Array]]  # of each level, innermost first: s (k,), u (k, c + 1)


def fit_nested_effects(
    figures: Array,
    variance: Array,
    *,
    levels: Sequence[Array],
    design: Array | None = None,
    effects: Array | None = None,
) -> NestedEffects:
    """The coefficients and the variances of the levels.

    Parameters
    ----------
    figures : (n,) the figures y.
    variance : (n,) known variances v of their errors, above 0.
    levels : labels (n,) of each level, outermost first; those of a level are read inside those of
        the levels before, so that each farm may have its seeder 1.
    design : (n, c) the matrix X, of full column rank; a column of ones where left out.
    effects : (L,) the variances of the levels where they are known; else they are estimated.

    >>> found = fit_nested_effects(
    ...     np.array([1.0, 3.0]), np.full(2, 1e-6), levels=[np.array([0, 1])])
    >>> round(float(found.estimate[0]), 6), round(float(found.variance[0]), 4)
    (2.0, 2.0)

    Raises
    ------
    ValueError : shapes do not fit, a variance is not above 0, there are not more figures than
        coefficients, or ``design`` has no full column rank.
    """
    n = len(figures)
    design = np.ones((n, 1)) if design is None else design
    if variance.shape != (n,) or len(design) != n or any(len(one) != n for one in levels):
        raise ValueError("figures, variances, levels and design do not fit each other")
    if not (variance > 0).all() or n <= design.shape[1]:
        raise ValueError("variances must be above 0, and the figures more than the coefficients")
    if np.linalg.matrix_rank(design.T @ design) < design.shape[1]:
        raise ValueError("the design must have full column rank")
    order, groups, label = _in_order(levels, n)
    both = np.column_stack([design, figures])[order]
    own = variance[order]
    scale = max(float(np.var(figures)), float(own.min()))
    theta = _most_likely(both, own, groups, scale) if effects is None else effects
    swept = _sweep(_summed(both, own, groups), theta)
    estimate, covariance, log_likelihood = _coefficients(swept, n)
    return NestedEffects(
        estimate=estimate,
        covariance=covariance,
        degrees_of_freedom=_degrees(design, label),
        variance=theta,
        effect=_effects(swept, groups, theta, estimate),
        log_likelihood=log_likelihood,
    )


def group_numbers(levels: Sequence[Array]) -> list[Labels]:
    """For each level the number of the group of each figure (n,), from 0, as ``effect`` has them.

    Groups are numbered in the order of their labels, inside those of the levels before.
    """
    number = np.zeros(len(levels[0]), dtype=np.intp)
    found = []
    for labels in levels:
        inside = np.unique(labels, return_inverse=True)[1]
        joined = number * (int(inside.max()) + 1) + inside
        number = np.unique(joined, return_inverse=True)[1].astype(np.intp)
        found.append(number)
    return found


def _in_order(levels: Sequence[Array], n: int) -> tuple[Labels, list[_Level], list[Labels]]:
    """The figures' order group by group, the levels innermost first, the groups' numbers."""
    label = group_numbers(levels)
    order = np.argsort(label[-1], kind="stable").astype(np.intp)
    inner = np.arange(n)
    groups = []
    for labels in reversed(label):
        number = labels[order][inner]  # of each group of the level inside, in order
        first = np.flatnonzero(np.diff(number, prepend=-1)).astype(np.intp)
        size = np.diff(np.append(first, len(number))).astype(np.intp)
        groups.append(_Level(first=first, size=size))
        inner = inner[first]
    return order, groups, label


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Figures:
    """All figures summed up by innermost group, which no variance of a level changes."""

    squares: Array
    log_det: float
    precision: Array
    vectors: Array
    groups: Sequence[_Level]


def _summed(both: Array, own: Array, groups: Sequence[_Level]) -> _Figures:
    weighted = both / own[:, None]
    return _Figures(
        squares=weighted.T @ both,
        log_det=float(np.log(own).sum()),
        precision=np.add.reduceat(1 / own, groups[0].first),
        vectors=np.add.reduceat(weighted, groups[0].first, axis=0),
        groups=groups,
    )


def _sweep(figures: _Figures, theta: Array) -> _Swept:
    """Give every level its variance, innermost first; ``theta`` stands outermost first."""
    squares, log_det = figures.squares, figures.log_det
    precision, vectors = figures.precision, figures.vectors
    left = []
    for depth, (level, variance) in enumerate(zip(figures.groups, theta[::-1], strict=True)):
        if depth:  # the innermost groups are summed already
            precision = np.add.reduceat(precision, level.first)
            vectors = np.add.reduceat(vectors, level.first, axis=0)
        left.append((precision, vectors))
        less = 1 + variance * precision
        shrunk = vectors / less[:, None]
        squares = squares - variance * (shrunk.T @ vectors)
        log_det += float(np.log(less).sum())
        precision, vectors = precision / less, shrunk
    return _Swept(squares=squares, log_det=log_det, left=left)


def _coefficients(swept: _Swept, n: int) -> tuple[Array, Array, float]:
    """Estimate, covariance and restricted log likelihood."""
    information, right = swept.squares[:-1, :-1], swept.squares[:-1, -1]
    covariance = np.asarray(np.linalg.inv(information), dtype=np.float64)
    estimate = covariance @ right
    rest = float(swept.squares[-1, -1] - right @ estimate)
    log_det = swept.log_det + float(np.linalg.slogdet(information)[1])
    constant = (n - len(estimate)) * np.log(2 * np.pi)
    return estimate, covariance, -0.5 * (float(constant) + log_det + rest)


def _most_likely(both: Array, own: Array, groups: Sequence[_Level], scale: float) -> Array:
    """The variances (L,) of greatest restricted likelihood, outermost first."""
    from scipy.optimize import minimize

    n, levels = len(own), len(groups)
    centred = both.copy()
    centred[:, -1] -= centred[:, :-1] @ np.linalg.lstsq(both[:, :-1], both[:, -1])[0]
    figures = _summed(centred, own, groups)

    def cost(root: Array) -> float:
        return -_coefficients(_sweep(figures, root**2 * scale), n)[2]

    starts = [np.full(levels, (0.5 / levels) ** 0.5)]
    starts += [np.where(np.arange(levels) == one, 0.8, 0.05) for one in range(levels)]
    best = min(starts, key=cost)
    found = minimize(cost, best, method="L-BFGS-B", bounds=[(0.0, 30.0)] * levels,
                     options={"ftol": 1e-13, "gtol": 1e-6 * n})  # fmt: skip
    return np.asarray(np.square(found.x) * scale)


def _effects(
    swept: _Swept, groups: Sequence[_Level], theta: Array, estimate: Array
) -> tuple[Array, ...]:
    """The means of all effects given the figures, outermost level first.

    Going inwards, a group with what the levels above leave it, m, has the effect
    θ/(1 + θs)·(r − s·m) with r = 1ᵀV⁻¹(y − Xβ) of the group before its own effect.
    """
    contrast = np.append(-estimate, 1.0)
    above = np.zeros(1)
    found: list[Array] = []
    size = np.array([len(groups[-1].first)])
    for level, (precision, vectors), variance in zip(
        reversed(groups), reversed(swept.left), theta, strict=True
    ):
        from_above = np.repeat(above, size)
        rest = vectors @ contrast - precision * from_above
        effect = variance / (1 + variance * precision) * rest
        found.append(effect)
        above, size = from_above + effect, level.size
    return tuple(found)


def _degrees(design: Array, label: Sequence[Labels]) -> Array:
    """Degrees of freedom of each column, by containment."""
    n, columns = design.shape
    degrees = np.full(columns, float(n - columns))
    for labels in reversed(label):
        groups = int(labels.max()) + 1
        at = np.zeros(groups, dtype=np.intp)
        at[labels] = np.arange(n)
        constant = (design == design[at][labels]).all(axis=0)
        degrees[constant] = max(groups - int(constant.sum()), 1)
    return degrees
