"""Posterior of the beds that the passes of a day were driven on, by a multiple-hypothesis tracker.

A phone's positions are off by metres, and by other metres on another day, while beds lie 1.2 to
2 m apart, so the nearest bed says little. The positions of a day's passes across the block follow

    z_i = x_j(k) + c + d(t_i) + e_i,    x_j = p·j

j(k) the bed of pass k, p the distance from bed to bed, c the day's offset, d the correlated error
of the phone (first-order Gauss-Markov, so that two passes soon after one another share most of it)
and e white noise. Given the beds j everything is linear and normal, and a Kalman filter gives the
likelihood (see `tracker_state`); the sequences of beds are searched together with the noise of the
phone, keeping the likeliest at each pass (D. B. Reid 1979, IEEE Transactions on Automatic Control
24:843, from memory). The prior of the next bed is in `transition_prior`, the likelihoods of lengths
and names in `length_likelihood` and `name_likelihood`. The weights of the hypotheses that are kept
give the posterior probability of each bed.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..core.measured import Measured
from .length_likelihood import LengthLikelihood
from .name_likelihood import known_name_log_likelihood, names_of_day_log_likelihood
from .tracker_state import DayHypotheses
from .transition_prior import REACH, TransitionPrior
from .types import Array, AssignmentHypothesis, BlockPrior, DayPosterior, Ints, PassObservation

PHONE_NOISE = tuple((s, t, 0.5) for s in (0.7, 1.4, 2.4, 3.6) for t in (60.0, 180.0, 500.0))
"""Correlated error (m), its correlation time (s) and white noise of means over 25 s (m): the ranges
of phones in the open (see `estimator.priors`)."""
RECEIVER_NOISE = ((0.06, 200.0, 0.12),)
"""The same for a receiver with carrier-phase corrections."""
DAY_OFFSET_M = 5.0
"""Standard deviation of the offset between two days. Our choice; phones differ by 3 to 5 m."""
SPACINGS_M = tuple(np.arange(0.9, 2.75, 0.15).tolist())
"""Distances from bed to bed that are tried where it is not given."""
USUAL_SPACING = (1.6, 0.25)
"""Median of the distance from bed to bed (m) and its log-normal spread; common practice."""
MOST_TRIED = 1500
MOST_ALTERNATIVES, APART = 4, 3
"""So many hypotheses about a day are followed, where they differ in so many passes."""


def assign_day(
    observations: Sequence[PassObservation], prior: BlockPrior, *, receiver: bool = False
) -> DayPosterior:
    """The posterior of the beds of the passes of one day in one block.

    Parameters
    ----------
    observations : the passes in order of time.
    prior : what is known of the block.
    receiver : positions are good to centimetres.

    Raises
    ------
    ValueError : no pass was given.
    """
    if not observations:
        raise ValueError("no pass to assign")
    search = _Search(observations, prior, receiver)
    kept = search.begin()
    for k in range(1, len(observations)):
        kept = search.extend(kept, k)
    kept.log_weight = kept.log_weight + search.transition.left_out(kept)
    weight = np.exp(kept.log_weight - kept.log_weight.max())
    log_marginal_likelihood = float(np.log(weight.sum()) + kept.log_weight.max())
    weight /= weight.sum()
    # rows that differ in the noise only are one assignment
    paths, which = np.unique(kept.path, axis=0, return_inverse=True)
    probability = np.bincount(which.ravel(), weight).astype(np.float64)
    heads = _distinct(paths, probability)
    nearest = np.argmin([(paths != paths[h]).sum(axis=1) for h in heads], axis=0)[which.ravel()]
    return DayPosterior(
        best=_hypothesis(kept, weight, paths[heads[0]], search.low),
        hypotheses=tuple(
            _hypothesis(kept, np.where(nearest == i, weight, 0.0), paths[h], search.low)
            for i, h in enumerate(heads)
        ),
        log_marginal_likelihood=log_marginal_likelihood,
    )


def _distinct(paths: Ints, probability: Array) -> list[int]:
    """The likeliest path, the likeliest of those that differ from it in much, and so on."""
    heads: list[int] = []
    for i in np.argsort(-probability).tolist():
        if heads and not probability[i] > 0:
            break
        if all((paths[i] != paths[h]).sum() >= APART for h in heads):
            heads.append(i)
        if len(heads) == MOST_ALTERNATIVES:
            break
    return heads


def _hypothesis(kept: DayHypotheses, weight: Array, path: Ints, low: int) -> AssignmentHypothesis:
    """One path with the marginals of the hypotheses under these weights."""
    total = float(weight.sum())
    share = weight / total
    marginals = []
    for beds in kept.path.T:
        marginal = np.bincount(beds, share)
        marginals.append(
            {int(j) + low: float(marginal[j]) for j in np.flatnonzero(marginal > 1e-5)}
        )
    mine = np.where((kept.path == path).all(axis=1), weight, 0.0)
    mine = mine / mine.sum()
    return AssignmentHypothesis(
        beds=tuple(int(j) + low for j in path),
        marginals=tuple(marginals),
        offset=_mixed(mine, kept.mean[:, 0], kept.cov[:, 0, 0]),
        spacing=_mixed(mine, kept.spacing + kept.mean[:, 1], kept.cov[:, 1, 1]),
        weight=total,
    )


def _mixed(weight: Array, mean: Array, variance: Array) -> Measured:
    middle = float(weight @ mean)
    return Measured(middle, float(weight @ (variance + (mean - middle) ** 2)) ** 0.5)


class _Search:
    """One day's search. Beds are counted from ``low`` so that they index arrays."""

    def __init__(
        self, observations: Sequence[PassObservation], prior: BlockPrior, receiver: bool
    ) -> None:
        self.observations, self.prior = observations, prior
        self.noise = np.array(RECEIVER_NOISE if receiver else PHONE_NOISE)
        beds = sorted({*prior.last_sown_s, *prior.mapped_across_m})
        reach = 3 * len(observations) if not beds else len(observations) + REACH
        self.low = (beds[0] if beds else 0) - reach
        self.count = (beds[-1] if beds else 0) + reach + 1 - self.low
        self.index = np.arange(self.low, self.low + self.count, dtype=np.float64)
        known = np.zeros(self.count, dtype=bool)
        known[[j - self.low for j in beds]] = True
        self.transition = TransitionPrior(prior, known, self.low, float(observations[0].time_s[0]))
        self.lengths = LengthLikelihood(prior, observations, self.low, self.count)
        self.base = self._mapped_across()

    def _mapped_across(self) -> Array | None:
        """Positions of the beds on the grower's map, evenly beyond it; None without a map."""
        mapped = self.prior.mapped_across_m
        if len(mapped) < 2:
            return None
        j = np.array(sorted(mapped), dtype=float)
        x = np.array([mapped[int(b)] for b in j])
        step = float(np.median(np.diff(x) / np.diff(j)))
        inner = np.interp(self.index, j, x)
        return np.asarray(
            inner
            + np.minimum(self.index - j[0], 0) * step
            + np.maximum(self.index - j[-1], 0) * step
        )

    def _across(self, kept: DayHypotheses) -> Array:
        """Position of every bed at δp = 0, shape (h or 1, J)."""
        if self.base is not None:
            return self.base[None, :]
        return np.asarray(kept.spacing[:, None] * self.index[None, :])

    def begin(self) -> DayHypotheses:
        """The hypotheses after the first pass: all first beds with all noises and spacings."""
        first = self.transition.first_beds()
        at, prior_bed = first if first is not None else (np.array([-self.low]), np.zeros(1))
        if self.prior.spacing is not None:
            given = self.prior.spacing
            spacing, spread, prior = np.array([given.value]), given.std, np.zeros(1)
        else:
            spacing, spread = np.array(SPACINGS_M), 0.08
            prior = -0.5 * (np.log(spacing / USUAL_SPACING[0]) / USUAL_SPACING[1]) ** 2
        scatter, prior_scatter = self.lengths.levels()
        n, s, b, e = (
            g.ravel()
            for g in np.meshgrid(
                np.arange(len(self.noise)),
                np.arange(len(spacing)),
                np.arange(len(at)),
                np.arange(len(scatter)),
            )
        )
        h = len(n)
        cov = np.zeros((h, 4, 4))
        cov[:, 0, 0] = DAY_OFFSET_M**2 if first is not None else 1e4
        cov[:, 1, 1] = spread**2
        cov[:, 2, 2] = self.noise[n, 0] ** 2
        cov[:, 3, 3] = self.lengths.scale_variance
        bed = at[b].astype(np.int64)
        seen = np.zeros((h, self.count), dtype=bool)
        seen[np.arange(h), bed] = True
        mean = np.zeros((h, 4))
        mean[:, 0] = self.prior.origin_m
        kept = DayHypotheses(
            mean=mean,
            cov=cov,
            log_weight=prior_bed[b] + prior[s] + prior_scatter[e] + self._name(0)[bed],
            noise=self.noise[n],
            spacing=spacing[s],
            scatter=scatter[e],
            stride=np.zeros(h, dtype=np.int64),
            bed=bed,
            seen=seen,
            path=bed[:, None],
        )
        length = self.lengths.log_likelihood(kept, self.observations[0])
        if not isinstance(length, float):
            kept.log_weight = kept.log_weight + length[np.arange(h), bed]
        self._observe(kept, 0)
        return kept.pruned()

    def extend(self, kept: DayHypotheses, k: int) -> DayHypotheses:
        """The hypotheses after pass k: it may lie on every bed in reach; the likeliest are kept."""
        observation = self.observations[k]
        kept.predict(float(observation.time_s[0] - self.observations[k - 1].time_s[-1]))
        prior = self.transition.next_beds(kept) + self._name(k)
        prior = prior + names_of_day_log_likelihood(
            [t.name for t in self.observations[: k + 1]], kept.path, self.count
        )
        prior = prior + self.lengths.log_likelihood(kept, observation)
        guess = kept.log_weight[:, None] + prior
        guess = guess + kept.first_position_log_likelihood(
            float(observation.across_m[0]), self._across(kept), self.index
        )
        flat = guess.ravel()
        most = min(MOST_TRIED, int(np.isfinite(flat).sum()))
        chosen = np.argpartition(-flat, most - 1)[:most]
        rows, beds = np.unravel_index(chosen, guess.shape)
        after = kept.select(rows)
        after.stride = self.transition.strides(kept, rows, beds - after.bed)
        after.bed, after.log_weight = (
            beds.astype(np.int64),
            kept.log_weight[rows] + prior[rows, beds],
        )
        after.seen[np.arange(most), beds] = True
        after.path = np.hstack([after.path, after.bed[:, None]])
        self._observe(after, k)
        return after.pruned()

    def _name(self, k: int) -> Array:
        return known_name_log_likelihood(
            self.observations[k].name, self.prior.names, self.low, self.count
        )

    def _observe(self, kept: DayHypotheses, k: int) -> None:
        """Update with the positions and the length of pass k (in place)."""
        index = self.index[kept.bed]
        base = self.base[kept.bed] if self.base is not None else kept.spacing * index
        self.lengths.update(kept, self.observations[k])
        kept.update_positions(self.observations[k], base, index)
