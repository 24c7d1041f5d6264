"""Which bed each pass of a day was driven on: the day's whole sequence against the block's pattern.

A phone's positions are off by metres, and by other metres on another day, while beds lie 1.2 to
2 m apart, so the nearest bed says little. The places of a day's passes across the block follow

    z_i = x_j(k) + c + d(t_i) + e_i,    x_j = p·j

j(k) the bed of pass k, p the distance from bed to bed, c the day's offset, d the slow wander of
the phone (first-order Gauss-Markov, so that two passes soon after one another share most of it)
and e what is left. Given the beds j everything is linear and normal, and a Kalman filter gives the
likelihood; the sequences of beds are searched together with the noise of the phone, keeping the
likeliest at each pass (a multiple-hypothesis filter; D. B. Reid 1979, IEEE Transactions on
Automatic Control 24:843, from memory). A prior says how people sow: bed after bed, seldom leaving
one out, seldom twice on the same. The weights of what is kept give how sure each bed is.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import log

import numpy as np
from numpy.typing import NDArray

from ..measured import Measured

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

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
MOST_KEPT = 400
MOST_TRIED = 1500
REACH = 6
"""Beds to either side of the last one that are tried besides those of the block."""

# How people sow, as probabilities. Our choice; common practice, no source.
_GO_ON, _SAME, _LEAVE_ONE, _LEAVE_TWO, _ELSE = 0.96, 0.003, 0.005, 0.002, 0.0005
_FIRST_STEPS = {0: 0.01, 1: 0.30, 2: 0.10, 3: 0.05}
_AGAIN_TODAY = 0.02
_AGAIN_SOON, SOON_S = 0.05, 4 * 86400.0
_NEW_BED, _NEXT_NEW_BED, _DETACHED = 0.10, 0.9, 0.02
_EDGE_LEFT_OUT = 0.05
_WRONG_NAME = 1e-4
_OTHER_NUMBERING = 0.02
"""Chance that beds named with numbers (N7, N8) do not lie as their numbers say."""
_NAMES_BACK = 6
_MAPPED_NEW = 1e-4
END_M = 1.0
"""How well a driver meets the end of a bed: standard deviation of the length sown. Our choice."""
_ODD_LENGTH = 0.02
"""Share of passes of another length than the bed's: turned early, sown in part."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Trace:
    """Where one pass lay across its block: means over parts of the pass, in order of time.

    ``time_s`` and ``across_m`` have shape (n,). ``name`` is what the turn sheet calls the bed,
    ``length`` the ground sown (m), None where unknown.
    """

    time_s: Array
    across_m: Array
    name: str = ""
    length: Measured | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """What is known of a block before a day: beds by their place in the row of beds.

    ``spacing`` is None before the first day and where nobody has said it. ``last_sown_s`` holds
    the beds known. ``at_edge`` counts earlier days that ended at the lowest and the highest known
    bed. ``places_m`` are places of the grower's own map, by bed; ``names`` those known;
    ``lengths`` what was sown of each bed on earlier days (m).
    """

    spacing: Measured | None = None
    last_sown_s: Mapping[int, float] = field(default_factory=dict)
    at_edge: tuple[int, int] = (0, 0)
    names: Mapping[str, int] = field(default_factory=dict)
    places_m: Mapping[int, float] = field(default_factory=dict)
    lengths: Mapping[int, Measured] = field(default_factory=dict)
    origin_m: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Alignment:
    """The bed of each pass, how sure each is (0 to 1), the day's offset and the spacing (m)."""

    beds: tuple[int, ...]
    sure: tuple[float, ...]
    offset: Measured
    spacing: Measured


@dataclass(slots=True)
class _Kept:
    """Hypotheses, one a row: state (c, δp, d), its covariance, weights and the beds so far."""

    mean: Array  # (h, 3)
    cov: Array  # (h, 3, 3)
    score: Array  # (h,)
    noise: Array  # (h, 3)
    spacing: Array  # (h,) about which δp is counted
    stride: Ints  # (h,) 0 before the second bed
    bed: Ints  # (h,)
    seen: NDArray[np.bool_]  # (h, J)
    path: Ints  # (h, passes so far)

    def take(self, rows: Ints) -> _Kept:
        return _Kept(*(getattr(self, name)[rows] for name in self.__slots__))


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
    kept.score = kept.score + search.left_out(kept)
    weight = np.exp(kept.score - kept.score.max())
    weight /= weight.sum()
    # hypotheses that differ in the noise only say the same of the beds
    paths, which = np.unique(kept.path, axis=0, return_inverse=True)
    together = np.bincount(which.ravel(), weight)
    best = paths[int(together.argmax())]
    sure = (kept.path == best).T.astype(float) @ weight
    mine = (kept.path == best).all(axis=1)
    share = weight[mine] / weight[mine].sum()
    offset = _mixed(share, kept.mean[mine, 0], kept.cov[mine, 0, 0])
    spacing = _mixed(share, kept.spacing[mine] + kept.mean[mine, 1], kept.cov[mine, 1, 1])
    return Alignment(
        beds=tuple(int(j) + search.low for j in best),
        sure=tuple(float(min(1.0, s)) for s in sure),
        offset=offset,
        spacing=spacing,
    )


_NUMBERED = re.compile(r"(.*?)(\d{1,4})")


def _numbers_apart(one: str, other: str) -> int | None:
    """How far the numbers of two names lie apart, None where the rest differs or has none."""
    a, b = _NUMBERED.fullmatch(one), _NUMBERED.fullmatch(other)
    if not a or not b or a[1].casefold() != b[1].casefold():
        return None
    return abs(int(a[2]) - int(b[2]))


def _normal(away: Array, variance: Array | float) -> Array:
    return np.asarray(np.exp(-0.5 * away**2 / variance) / np.sqrt(2 * np.pi * variance))


def _mixed(weight: Array, mean: Array, variance: Array) -> Measured:
    middle = float(weight @ mean)
    return Measured(middle, float(weight @ (variance + (mean - middle) ** 2)) ** 0.5)


class _Search:
    """One day's search. Beds are counted from ``low`` so that they index arrays."""

    def __init__(self, traces: Sequence[Trace], pattern: Pattern, receiver: bool) -> None:
        self.traces, self.pattern = traces, pattern
        self.noise = np.array(RECEIVER_NOISE if receiver else PHONE_NOISE)
        known = sorted({*pattern.last_sown_s, *pattern.places_m})
        reach = 3 * len(traces) if not known else len(traces) + REACH
        self.low = (known[0] if known else 0) - reach
        self.count = (known[-1] if known else 0) + reach + 1 - self.low
        self.index = np.arange(self.low, self.low + self.count, dtype=np.float64)
        self.known = np.zeros(self.count, dtype=bool)
        self.known[[j - self.low for j in known]] = True
        start = float(traces[0].time_s[0])
        self.per_bed = np.zeros(self.count)
        for j, when in pattern.last_sown_s.items():
            if 0 <= start - when < SOON_S:
                self.per_bed[j - self.low] = log(_AGAIN_SOON)
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

    def named(self, k: int) -> Array:
        """Log factor for each bed from the name in the turn sheet."""
        name, factor = self.traces[k].name, np.zeros(self.count)
        if not name or not self.pattern.names:
            return factor
        if name in self.pattern.names:
            factor[:] = log(_WRONG_NAME)
            factor[self.pattern.names[name] - self.low] = 0.0
        else:
            taken = [j - self.low for j in self.pattern.names.values()]
            factor[taken] = log(_WRONG_NAME)
        return factor

    def named_today(self, kept: _Kept, k: int) -> Array | float:
        """Log factor from the names of this day's earlier passes, shape (h, J) or 0.

        One name is one bed, two names are two; names that differ in their number only lie as far
        apart as the numbers.
        """
        name = self.traces[k].name
        if not name:
            return 0.0
        factor: Array | float = 0.0
        at = np.arange(self.count)[None, :]
        named = [m for m in range(k) if self.traces[m].name]
        same = [m for m in named if self.traces[m].name == name]
        for m in {*same, *named[-_NAMES_BACK:]}:
            apart = np.abs(at - kept.path[:, m : m + 1])
            other = self.traces[m].name
            if other == name:
                factor = factor + np.where(apart != 0, log(_WRONG_NAME), 0.0)
                continue
            factor = factor + np.where(apart == 0, log(_WRONG_NAME), 0.0)
            steps = _numbers_apart(name, other)
            if steps is not None:
                factor = factor + np.where(apart != steps, log(_OTHER_NUMBERING), 0.0)
        return factor

    def fitting(self, k: int) -> Array:
        """Log factor for each bed from the length sown, 0 where nothing is known."""
        factor, length = np.zeros(self.count), self.traces[k].length
        known = self.pattern.lengths
        if length is None or not known:
            return factor
        at = np.array(list(known), dtype=np.int64) - self.low
        usual = np.array([m.value for m in known.values()])
        variance = np.array([m.std**2 for m in known.values()]) + length.std**2 + 2 * END_M**2
        # against a spread as wide as that of all lengths, so that a new bed is neither favoured
        wide = float(usual.var()) + variance
        middle = float(usual.mean())
        fits = (1 - _ODD_LENGTH) * _normal(length.value - usual, variance)
        odd = _normal(np.full(len(at), length.value - middle), wide)
        factor[at] = np.log((fits + _ODD_LENGTH * odd + 1e-12) / (odd + 1e-12))
        return factor

    def begin(self) -> _Kept:
        """All first beds with all noises and spacings, after the first pass."""
        if self.known.any():
            low, high = np.flatnonzero(self.known)[[0, -1]]
            at = np.arange(max(low - 2, 0), min(high + 3, self.count))
            first = np.where(self.known[at], 0.0, log(_NEW_BED))
            beyond = np.maximum(low - at, at - high)
            first = first + np.where(beyond > 1, log(_DETACHED), 0.0) + self._newness(at, low, high)
        else:
            at, first = np.array([-self.low]), np.zeros(1)
        first = first + self.per_bed[at] + self.named(0)[at] + self.fitting(0)[at]
        if self.pattern.spacing is not None:
            given = self.pattern.spacing
            spacing, spread, prior = np.array([given.value]), given.std, np.zeros(1)
        else:
            spacing, spread = np.array(SPACINGS_M), 0.08
            prior = -0.5 * (np.log(spacing / USUAL_SPACING[0]) / USUAL_SPACING[1]) ** 2
        n, s, b = (
            g.ravel()
            for g in np.meshgrid(
                np.arange(len(self.noise)), np.arange(len(spacing)), np.arange(len(at))
            )
        )
        h = len(n)
        cov = np.zeros((h, 3, 3))
        cov[:, 0, 0] = DAY_OFFSET_M**2 if self.known.any() else 1e4
        cov[:, 1, 1] = spread**2
        cov[:, 2, 2] = self.noise[n, 0] ** 2
        seen = np.zeros((h, self.count), dtype=bool)
        seen[np.arange(h), at[b]] = True
        mean = np.zeros((h, 3))
        mean[:, 0] = self.pattern.origin_m
        kept = _Kept(
            mean=mean,
            cov=cov,
            score=first[b] + prior[s],
            noise=self.noise[n],
            spacing=spacing[s],
            stride=np.zeros(h, dtype=np.int64),
            bed=at[b].astype(np.int64),
            seen=seen,
            path=at[b].astype(np.int64)[:, None],
        )
        self._observe(kept, 0)
        return self._best(kept)

    def _newness(self, at: Array | Ints, low: int, high: int) -> Array:
        """A block whose edge was seen again and again hardly grows there."""
        if self.pattern.places_m:
            return np.where((at < low) | (at > high), log(_MAPPED_NEW), 0.0)
        below, above = self.pattern.at_edge
        return np.asarray(
            np.where(at < low, -2 * log(1 + below), 0.0)
            + np.where(at > high, -2 * log(1 + above), 0.0)
        )

    def go_on(self, kept: _Kept, k: int) -> _Kept:
        """The next pass on every bed in reach, the likeliest kept."""
        self._wait(kept, float(self.traces[k].time_s[0] - self.traces[k - 1].time_s[-1]))
        prior = self._steps(kept) + self.per_bed + self.named(k) + self.fitting(k)
        prior = prior + self.named_today(kept, k)
        guess = kept.score[:, None] + prior + self._fit(kept, float(self.traces[k].across_m[0]))
        flat = guess.ravel()
        most = min(MOST_TRIED, int(np.isfinite(flat).sum()))
        chosen = np.argpartition(-flat, most - 1)[:most]
        rows, beds = np.unravel_index(chosen, guess.shape)
        score = kept.score[rows] + prior[rows, beds]
        after = kept.take(rows)
        step = beds - after.bed
        after.stride = np.where(step == 0, after.stride, np.clip(step, -REACH, REACH))
        went_on = (
            (kept.stride[rows] != 0) & (step != 0) & (np.sign(step) == np.sign(kept.stride[rows]))
        )
        after.stride = np.where(
            went_on & (np.abs(step) > np.abs(kept.stride[rows])), kept.stride[rows], after.stride
        )
        after.bed, after.score = beds.astype(np.int64), score
        after.seen[np.arange(most), beds] = True
        after.path = np.hstack([after.path, after.bed[:, None]])
        self._observe(after, k)
        return self._best(after)

    def _steps(self, kept: _Kept) -> Array:
        """Log prior of each next bed, shape (h, J); −inf out of reach."""
        step = np.arange(self.count)[None, :] - kept.bed[:, None]
        stride = kept.stride[:, None]
        size = np.abs(step)
        free = np.full(step.shape, _ELSE)
        for many, chance in _FIRST_STEPS.items():
            free[size == many] = chance
        usual = np.where(size <= 3 * REACH, _ELSE, _ELSE / 4)
        usual = np.where(step == 0, _SAME, usual)
        usual = np.where(step == 3 * stride, _LEAVE_TWO, usual)
        usual = np.where(step == 2 * stride, _LEAVE_ONE, usual)
        usual = np.where(step == stride, _GO_ON, usual)
        prior = np.log(np.where(stride == 0, free, usual))
        prior = prior + np.where(kept.seen & (step != 0), log(_AGAIN_TODAY), 0.0)
        reach = (size <= REACH) | self.known
        if self.known.any():
            low, high = np.flatnonzero(self.known)[[0, -1]]
            at = np.arange(self.count, dtype=np.float64)
            new = (at < low) | (at > high)
            first = log(_NEW_BED) + self._newness(at, low, high)
            was_new = new[kept.bed][:, None]
            prior = prior + np.where(
                new & ~kept.seen, np.where(was_new, log(_NEXT_NEW_BED), first), 0
            )
        return np.where(reach, prior, -np.inf)

    def left_out(self, kept: _Kept) -> Array:
        """Log factor for beds at the edge of the block that were left out beside sown ones."""
        if not self.known.any():
            return np.zeros(len(kept.score))
        low, high = np.flatnonzero(self.known)[[0, -1]]
        if low == high:
            return np.zeros(len(kept.score))
        missed = (~kept.seen[:, low] & kept.seen[:, low + 1]).astype(float)
        missed += ~kept.seen[:, high] & kept.seen[:, high - 1]
        return np.asarray(missed * log(_EDGE_LEFT_OUT))

    def _rows(self, kept: _Kept, beds: Ints) -> tuple[Array, Array]:
        """Place of each bed at δp = 0, and its change with δp."""
        g = self.index[beds]
        if self.base is not None:
            return self.base[beds], g
        return kept.spacing * g, g

    def _fit(self, kept: _Kept, across_m: float) -> Array:
        """Log likelihood of the first place on every bed, shape (h, J)."""
        g, m, c = self.index[None, :], kept.mean, kept.cov
        base = self.base[None, :] if self.base is not None else kept.spacing[:, None] * g
        away = across_m - base - (m[:, 0] + m[:, 2])[:, None] - m[:, 1][:, None] * g
        constant = c[:, 0, 0] + 2 * c[:, 0, 2] + c[:, 2, 2] + kept.noise[:, 2] ** 2
        variance = constant[:, None] + 2 * (c[:, 0, 1] + c[:, 1, 2])[:, None] * g
        variance = variance + c[:, 1, 1][:, None] * g * g
        return np.asarray(-0.5 * (np.log(variance) + away**2 / variance))

    def _observe(self, kept: _Kept, k: int) -> None:
        """Update the hypotheses (in place) with all places of pass k."""
        trace = self.traces[k]
        base, g = self._rows(kept, kept.bed)
        row = np.stack([np.ones_like(g), g, np.ones_like(g)], axis=1)
        for i, (when, across) in enumerate(zip(trace.time_s, trace.across_m, strict=True)):
            if i:
                self._wait(kept, float(when - trace.time_s[i - 1]))
            reach = np.einsum("hij,hj->hi", kept.cov, row)
            variance = (row * reach).sum(axis=1) + kept.noise[:, 2] ** 2
            away = across - base - (row * kept.mean).sum(axis=1)
            gain = reach / variance[:, None]
            kept.mean = kept.mean + gain * away[:, None]
            kept.cov = kept.cov - gain[:, :, None] * reach[:, None, :]
            kept.score = kept.score - 0.5 * (np.log(variance) + away**2 / variance)

    @staticmethod
    def _wait(kept: _Kept, seconds: float) -> None:
        """Let the wander go on for a while (in place)."""
        keep = np.exp(-max(seconds, 0.0) / kept.noise[:, 1])
        kept.mean[:, 2] *= keep
        kept.cov[:, 2, :] *= keep[:, None]
        kept.cov[:, :, 2] *= keep[:, None]
        kept.cov[:, 2, 2] += kept.noise[:, 0] ** 2 * (1 - keep**2)

    @staticmethod
    def _best(kept: _Kept) -> _Kept:
        if len(kept.score) <= MOST_KEPT:
            return kept
        return kept.take(np.argpartition(-kept.score, MOST_KEPT)[:MOST_KEPT])
