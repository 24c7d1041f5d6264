"""Which bed each pass of a day was driven on: the day's whole sequence against the block's pattern.

A phone's positions are off by metres, and by other metres on another day, while beds lie 1.2 to
2 m apart, so the nearest bed says little. The places of a day's passes across the block follow

    z_i = x_j(k) + c + d(t_i) + e_i,    x_j = p·j

j(k) the bed of pass k, p the distance from bed to bed, c the day's offset, d the slow wander of
the phone (first-order Gauss-Markov, so that two passes soon after one another share most of it)
and e what is left. Given the beds j everything is linear and normal, and a Kalman filter gives the
likelihood; the sequences of beds are searched together with the noise of the phone, keeping the
likeliest at each pass (a multiple-hypothesis filter; D. B. Reid 1979, IEEE Transactions on
Automatic Control 24:843, from memory). A prior says how people sow (see `habits`); lengths and
names speak along with the places (see `lengths`, `names`). The weights of what is kept give how
sure each bed is.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..core.measured import Measured
from .length_likelihood import Lengths
from .name_likelihood import name_known, names_today
from .pattern import Alignment, Array, Ints, Pattern, Reading, Trace
from .tracker_state import Hypotheses
from .transition_prior import REACH, Habits

PHONE_NOISE = tuple((s, t, 0.5) for s in (0.7, 1.4, 2.4, 3.6) for t in (60.0, 180.0, 500.0))
"""Sets of wander (m), its correlation time (s) and what is left over 25 s (m): the ranges of
phones in the open (see `travel.noise`)."""
RECEIVER_NOISE = ((0.06, 200.0, 0.12),)
"""The same for a receiver with carrier-phase corrections."""
DAY_OFFSET_M = 5.0
"""Standard deviation of the offset between two days. Our choice; phones differ by 3 to 5 m."""
SPACINGS_M = tuple(np.arange(0.9, 2.75, 0.15).tolist())
"""Distances from bed to bed that are tried where it is not given."""
USUAL_SPACING = (1.6, 0.25)
"""Median of the distance from bed to bed (m) and its log-normal spread; common practice."""
MOST_TRIED = 1500
MOST_READINGS, APART = 4, 3
"""So many readings of a day are told apart, where they differ in so many passes."""


def align(traces: Sequence[Trace], pattern: Pattern, *, receiver: bool = False) -> Alignment:
    """The beds of the passes of one day in one block.

    Parameters
    ----------
    traces : the passes in order of time.
    pattern : what is known of the block.
    receiver : positions are good to centimetres.

    Raises
    ------
    ValueError : no pass was given.
    """
    if not traces:
        raise ValueError("no pass to align")
    search = _Search(traces, pattern, receiver)
    kept = search.begin()
    for k in range(1, len(traces)):
        kept = search.go_on(kept, k)
    kept.score = kept.score + search.habits.left_out(kept)
    weight = np.exp(kept.score - kept.score.max())
    evidence = float(np.log(weight.sum()) + kept.score.max())
    weight /= weight.sum()
    # hypotheses that differ in the noise only say the same of the beds
    paths, which = np.unique(kept.path, axis=0, return_inverse=True)
    likely = np.bincount(which.ravel(), weight).astype(np.float64)
    heads = _heads(paths, likely)
    nearest = np.argmin([(paths != paths[h]).sum(axis=1) for h in heads], axis=0)[which.ravel()]
    readings = [
        _reading(kept, np.where(nearest == i, weight, 0.0), paths[h], search.low)
        for i, h in enumerate(heads)
    ]
    return Alignment(
        best=_reading(kept, weight, paths[heads[0]], search.low),
        readings=tuple(readings),
        evidence=evidence,
    )


def _heads(paths: Ints, likely: Array) -> list[int]:
    """The likeliest path and the likeliest of those that differ from it, and so on."""
    heads: list[int] = []
    for i in np.argsort(-likely).tolist():
        if all((paths[i] != paths[h]).sum() >= APART for h in heads):
            heads.append(i)
        if len(heads) == MOST_READINGS:
            break
    return heads


def _reading(kept: Hypotheses, weight: Array, path: Ints, low: int) -> Reading:
    """What the hypotheses say with these weights, along one path."""
    total = float(weight.sum())
    share = weight / total
    chances = []
    for beds in kept.path.T:
        chance = np.bincount(beds, share)
        chances.append({int(j) + low: float(chance[j]) for j in np.flatnonzero(chance > 1e-5)})
    mine = np.where((kept.path == path).all(axis=1), weight, 0.0)
    mine = mine / mine.sum()
    return Reading(
        beds=tuple(int(j) + low for j in path),
        chances=tuple(chances),
        offset=_mixed(mine, kept.mean[:, 0], kept.cov[:, 0, 0]),
        spacing=_mixed(mine, kept.spacing + kept.mean[:, 1], kept.cov[:, 1, 1]),
        weight=total,
    )


def _mixed(weight: Array, mean: Array, variance: Array) -> Measured:
    middle = float(weight @ mean)
    return Measured(middle, float(weight @ (variance + (mean - middle) ** 2)) ** 0.5)


class _Search:
    """One day's search. Beds are counted from ``low`` so that they index arrays."""

    def __init__(self, traces: Sequence[Trace], pattern: Pattern, receiver: bool) -> None:
        self.traces, self.pattern = traces, pattern
        self.noise = np.array(RECEIVER_NOISE if receiver else PHONE_NOISE)
        beds = sorted({*pattern.last_sown_s, *pattern.places_m})
        reach = 3 * len(traces) if not beds else len(traces) + REACH
        self.low = (beds[0] if beds else 0) - reach
        self.count = (beds[-1] if beds else 0) + reach + 1 - self.low
        self.index = np.arange(self.low, self.low + self.count, dtype=np.float64)
        known = np.zeros(self.count, dtype=bool)
        known[[j - self.low for j in beds]] = True
        self.habits = Habits(pattern, known, self.low, float(traces[0].time_s[0]))
        self.lengths = Lengths(pattern, traces, self.low, self.count)
        self.base = self._places()

    def _places(self) -> Array | None:
        """Places of the grower's map, going on evenly beyond it; None without a map."""
        mapped = self.pattern.places_m
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

    def _all_places(self, kept: Hypotheses) -> Array:
        """Place of every bed at δp = 0, shape (h or 1, J)."""
        if self.base is not None:
            return self.base[None, :]
        return np.asarray(kept.spacing[:, None] * self.index[None, :])

    def begin(self) -> Hypotheses:
        """All first beds with all noises and spacings, after the first pass."""
        first = self.habits.first_beds()
        at, prior_bed = first if first is not None else (np.array([-self.low]), np.zeros(1))
        if self.pattern.spacing is not None:
            given = self.pattern.spacing
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
        mean[:, 0] = self.pattern.origin_m
        kept = Hypotheses(
            mean=mean,
            cov=cov,
            score=prior_bed[b] + prior[s] + prior_scatter[e] + self._name(0)[bed],
            noise=self.noise[n],
            spacing=spacing[s],
            scatter=scatter[e],
            stride=np.zeros(h, dtype=np.int64),
            bed=bed,
            seen=seen,
            path=bed[:, None],
        )
        length = self.lengths.factor(kept, self.traces[0])
        if not isinstance(length, float):
            kept.score = kept.score + length[np.arange(h), bed]
        self._observe(kept, 0)
        return kept.best()

    def go_on(self, kept: Hypotheses, k: int) -> Hypotheses:
        """The next pass on every bed in reach, the likeliest kept."""
        trace = self.traces[k]
        kept.wait(float(trace.time_s[0] - self.traces[k - 1].time_s[-1]))
        prior = self.habits.next_beds(kept) + self._name(k)
        prior = prior + names_today([t.name for t in self.traces[: k + 1]], kept.path, self.count)
        prior = prior + self.lengths.factor(kept, trace)
        guess = kept.score[:, None] + prior
        guess = guess + kept.first_place(
            float(trace.across_m[0]), self._all_places(kept), self.index
        )
        flat = guess.ravel()
        most = min(MOST_TRIED, int(np.isfinite(flat).sum()))
        chosen = np.argpartition(-flat, most - 1)[:most]
        rows, beds = np.unravel_index(chosen, guess.shape)
        after = kept.take(rows)
        after.stride = self.habits.strides(kept, rows, beds - after.bed)
        after.bed, after.score = beds.astype(np.int64), kept.score[rows] + prior[rows, beds]
        after.seen[np.arange(most), beds] = True
        after.path = np.hstack([after.path, after.bed[:, None]])
        self._observe(after, k)
        return after.best()

    def _name(self, k: int) -> Array:
        return name_known(self.traces[k].name, self.pattern.names, self.low, self.count)

    def _observe(self, kept: Hypotheses, k: int) -> None:
        """Take in the places and the length of pass k (in place)."""
        index = self.index[kept.bed]
        base = self.base[kept.bed] if self.base is not None else kept.spacing * index
        self.lengths.learn(kept, self.traces[k])
        kept.observe_places(self.traces[k], base, index)
