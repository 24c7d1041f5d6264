"""Prior probability of the next bed of a day, as people sow: bed after bed, seldom leaving one out,
seldom twice on the same. Our choice of figures; common practice, no source.
"""

from __future__ import annotations

from math import log

import numpy as np
from numpy.typing import NDArray

from .tracker_state import DayHypotheses
from .types import Array, BlockPrior, Ints

REACH = 6
"""Beds to either side of the last one that are tried besides those of the block."""
SOON_S = 4 * 86400.0
"""A bed sown again within this was hardly meant to be."""

_GO_ON, _SAME, _LEAVE_ONE, _LEAVE_TWO, _ELSE = 0.96, 0.003, 0.005, 0.002, 0.0005
_FIRST_STEPS = {0: 0.01, 1: 0.30, 2: 0.10, 3: 0.05}
_AGAIN_TODAY, _AGAIN_SOON = 0.02, 0.05
_NEW_BED, _NEXT_NEW_BED, _DETACHED = 0.10, 0.9, 0.02
_EDGE_LEFT_OUT = 0.05
_MAPPED_NEW = 1e-4


class TransitionPrior:
    """Log prior probabilities on one block.

    Beds are counted from ``low``, ``known`` (J,) says which exist.
    """

    def __init__(
        self, block: BlockPrior, known: NDArray[np.bool_], low: int, start_s: float
    ) -> None:
        self.block, self.known = block, known
        self.edges = np.flatnonzero(known)[[0, -1]].tolist() if known.any() else None
        self.own_edges = self.edges
        if block.own_beds is not None:  # another seeder may sow up to the edges of the block
            own = block.own_beds
            self.own_edges = [min(own) - low, max(own) - low] if own else None
        self.again = np.zeros(len(known))
        for j, when in block.last_sown_s.items():
            if 0 <= start_s - when < SOON_S:
                self.again[j - low] = log(_AGAIN_SOON)

    def first_beds(self) -> tuple[Ints, Array] | None:
        """Beds at which the day may begin and their log probabilities; None where none is known."""
        if self.edges is None:
            return None
        low, high = self.edges
        at = np.arange(max(low - 2, 0), min(high + 3, len(self.known)))
        prior = np.where(self.known[at], 0.0, log(_NEW_BED))
        beyond = np.maximum(low - at, at - high)
        prior = prior + np.where(beyond > 1, log(_DETACHED), 0.0) + self._new_bed(at)
        return at, np.asarray(prior + self.again[at])

    def next_beds(self, kept: DayHypotheses) -> Array:
        """Log probability of each next bed, shape (h, J); −inf out of reach."""
        step = np.arange(len(self.known))[None, :] - kept.bed[:, None]
        stride = kept.stride[:, None]
        size = np.abs(step)
        free = np.full(step.shape, _ELSE)
        for many, probability in _FIRST_STEPS.items():
            free[size == many] = probability
        usual = np.where(size <= 3 * REACH, _ELSE, _ELSE / 4)
        usual = np.where(step == 0, _SAME, usual)
        usual = np.where(step == 3 * stride, _LEAVE_TWO, usual)
        usual = np.where(step == 2 * stride, _LEAVE_ONE, usual)
        usual = np.where(step == stride, _GO_ON, usual)
        prior = np.log(np.where(stride == 0, free, usual)) + self.again
        prior = prior + np.where(kept.seen & (step != 0), log(_AGAIN_TODAY), 0.0)
        if self.edges is not None:
            low, high = self.edges
            at = np.arange(len(self.known))
            new = (at < low) | (at > high)
            first = log(_NEW_BED) + self._new_bed(at)
            was_new = new[kept.bed][:, None]
            prior = prior + np.where(
                new & ~kept.seen, np.where(was_new, log(_NEXT_NEW_BED), first), 0
            )
        return np.where((size <= REACH) | self.known, prior, -np.inf)

    @staticmethod
    def strides(before: DayHypotheses, rows: Ints, step: Ints) -> Ints:
        """Steps from bed to bed of the extended hypotheses: the smaller of two steps one way."""
        had = before.stride[rows]
        now = np.where(step == 0, had, np.clip(step, -REACH, REACH))
        went_on = (had != 0) & (step != 0) & (np.sign(step) == np.sign(had))
        return np.asarray(np.where(went_on & (np.abs(step) > np.abs(had)), had, now))

    def left_out(self, kept: DayHypotheses) -> Array:
        """Log probability of not having sown up to either edge of the block, or of what this
        seeder sowed of it before, shape (h,)."""
        if self.own_edges is None or self.own_edges[0] == self.own_edges[1]:
            return np.zeros(len(kept.log_weight))
        low, high = self.own_edges
        missed = (~kept.seen[:, [low, high]]).sum(axis=1)
        return np.asarray(missed * log(_EDGE_LEFT_OUT))

    def _new_bed(self, at: Ints) -> Array:
        """Log probability of beds beyond an edge: one seen again and again hardly moves."""
        assert self.edges is not None
        low, high = self.edges
        if self.block.mapped_across_m:
            return np.where((at < low) | (at > high), log(_MAPPED_NEW), 0.0)
        below, above = self.block.at_edge
        return np.asarray(
            np.where(at < low, -2 * log(1 + below), 0.0)
            + np.where(at > high, -2 * log(1 + above), 0.0)
        )
