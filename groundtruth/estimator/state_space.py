"""The model of a pass: what is wanted, what is seen, and how both hang on the states.

Along the pass (z the reported position, M the motion clock, D the ground covered):

    z_i = b0 + b1·M(t_i) + g(t_i) + Σ errors + e_i
    D   = b1·ΔM + Δg

g is the integral of a Gauss-Markov process on the motion clock (the variation of the driving
speed); the errors are the components of `POSITION_ERROR`, e is white noise with rounding; b0 and b1
are diffuse. Across the pass the true position is a quadratic in M plus a Gauss-Markov weave, and
errors and e are of the same size: there the noise shows. A Doppler speed on the way, where M' = 1,
observes b1 + g' plus a constant bias, `SPEED_ERROR` and white noise.

In the terms of a state-space model with the states x:

    x_i = F·x_{i−1} + q,  q ~ N(0, Q),  x_0 ~ N(0, P0)
    z_i = h·x_i + regression on b0, b1 + N(0, R)

The states are the modes of the processes and h adds them up. This module and the priors of the
parameters are all that says what the model is; the filter, the influence of the fixes and the plan
follow from it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from .batch import NEAR_STOP_SHARE, Batch, StepKinds
from .components import Component, Entries, GaussMarkov, IntegratedGaussMarkov, SmoothedGaussMarkov
from .priors import DOPPLER_SLOW_S, PARAMETERS, WEAVE_M, WEAVE_S

Array = NDArray[np.float64]

POSITION_ERROR: Final[tuple[Component, ...]] = (
    GaussMarkov("slow_m", "slow_s"),
    SmoothedGaussMarkov("fast_m", "fast_s", "rise_s"),
)
"""Components of the position error besides white noise, alike in both axes and independent."""
SHARED_BY_PASSES: Final[tuple[Component, ...]] = POSITION_ERROR
"""Those that last long enough to be felt on the next pass too."""
SPEED_ERROR: Final[Component] = GaussMarkov("doppler_slow_m_s", DOPPLER_SLOW_S)
"""Error of a Doppler speed besides white noise and a constant bias."""
WEAVE_PROCESS: Final[Component] = GaussMarkov(WEAVE_M, WEAVE_S)
"""The true position across the pass besides its quadratic."""

TINY_M = 0.006
"""Rounding of coordinates, standard deviation in m."""

Block = tuple[list[Array], Entries, Entries]
"""Diagonal of F, Q, and P0 of the modes of one process."""

INDEX: Final = {name: i for i, name in enumerate(PARAMETERS)}


def named(values: Array) -> dict[str, Array]:
    """Parameters by name, each (sets,), from ``values`` (parameters, sets)."""
    return {name: values[i] for name, i in INDEX.items()}


def position_variance(values: Array) -> Array:
    """R, the variance of white noise and rounding at a fix, for each set: (sets,). [m²]"""
    return np.asarray(named(values)["white_m"] ** 2 + TINY_M**2)


def position_error_covariance(values: Array, lag_s: Array) -> Array:
    """Covariance of the position error without its white part at two instants. [m²]

    ``values`` (parameters, sets) and ``lag_s`` of shapes that go together.
    """
    p = named(values)
    return np.asarray(sum(c.covariance(p, lag_s) for c in POSITION_ERROR))


def rough_variance(noise: Mapping[str, float], lapse_s: float) -> float:
    """Half the variance of a distance driven in ``lapse_s``, nearly, by the position error. [m²]

    ``noise`` are parameters by name. Of the lasting errors their change counts, half its structure
    function; the others are averaged by the fixes near the ends.
    """
    p = {name: np.asarray(value) for name, value in noise.items()}
    now, then = np.asarray(0.0), np.asarray(lapse_s)
    lasting = sum(c.covariance(p, now) - c.covariance(p, then) for c in SHARED_BY_PASSES)
    passing = sum(c.covariance(p, now) for c in POSITION_ERROR if c not in SHARED_BY_PASSES)
    return float(lasting + passing / 4)


class Displacement:
    """The true way along a pass less b0 + b1·M: variation of speed, and doubt near the stops.

    Covariances follow from the structure functions S of its stationary increments:
    Cov(g(b) − g(a), g(t) − g(o)) = [S(b−o) − S(a−o) − S(b−t) + S(a−t)]/2.
    """

    def __init__(self, batch: Batch, values: Array) -> None:
        p = named(values)
        self.batch = batch
        self.speed = IntegratedGaussMarkov(
            (p["drive"] * batch.nominal_m_s[:, None]) ** 2, p["drive_s"]
        )
        self.doubt = (NEAR_STOP_SHARE * batch.nominal_m_s[:, None]) ** 2

    def travel_covariance(self) -> tuple[Array, Array]:
        """Cov(Δg, g) at each fix, g = 0 at the first: (steps, passes, sets), and Var Δg. [m²]

        Δg is the change of g between the marks; its variance has shape (passes, sets).
        """
        batch = self.batch
        first, last = self._from_marks_s()
        between = self.speed.structure(first) - self.speed.structure(last)
        unsure = np.abs(batch.mark_unsure_s[:, None] - batch.unsure_s)
        between += self.doubt * (unsure[0] - unsure[1])[:, :, None]
        between = (between - between[0]) / 2
        own = self.speed.structure((batch.mark_clock_s[1] - batch.mark_clock_s[0])[:, None])
        own += self.doubt * np.abs(batch.mark_unsure_s[1] - batch.mark_unsure_s[0])[:, None]
        return between, own

    def travel_speed_covariance(self) -> Array:
        """Cov(Δg, g') at each fix: (steps, passes, sets). [m²/s]"""
        first, last = self._from_marks_s()
        return self.speed.structure_slope(last) - self.speed.structure_slope(first)

    def _from_marks_s(self) -> Array:
        """Motion clock from each fix to the two marks: (2, steps, passes, 1). [s]"""
        batch = self.batch
        return batch.mark_clock_s[:, None, :, None] - batch.clock_s[None, :, :, None]

    def covariance(self) -> Array:
        """Cov(g, g) at the fixes of the only pass with the only set, (steps, steps). [m²]"""
        batch = self.batch
        clock = batch.clock_s - batch.clock_s[0]
        unsure = batch.unsure_s - batch.unsure_s[0]
        grown = self.speed.structure(clock)
        driven = (grown + grown.T - self.speed.structure(clock - clock.T)) / 2
        return np.asarray(driven + self.doubt * np.minimum(unsure, unsure.T))

    def speed_covariance(self, heard: NDArray[np.int64]) -> tuple[Array, Array]:
        """Cov(g, g') at all fixes and those ``heard``, Cov(g', g') at the latter.

        Of the only pass with the only set: (steps, heard) [m²/s] and (heard, heard) [m²/s²].
        """
        clock = self.batch.clock_s - self.batch.clock_s[0]
        at = clock[heard]
        cross = self.speed.structure_slope(at.T) + self.speed.structure_slope(clock - at.T)
        return cross, self.speed.covariance(at - at.T)


class StateSpace:
    """F, Q and P0 of the states along or across the passes, for all steps, passes and sets.

    The states are the modes of all processes one after the other: F is diagonal, Q block diagonal,
    so that of Q the diagonal is kept and the entries ``beside`` above it. The first ``positions``
    of the ``order`` states add up to the position. Coefficients are kept by kind of step and set.
    """

    def __init__(
        self, blocks: Sequence[Block], kinds: StepKinds, sets: int, positions: int
    ) -> None:
        self.kind_of, self.positions = kinds.of_step, positions
        kept = [f for transition, _, _ in blocks for f in transition]
        self.order = len(kept)
        noise = _block_diagonal([(len(f), q) for f, q, _ in blocks])
        at_first = _block_diagonal([(len(f), start) for f, _, start in blocks])
        self.beside = tuple(e for e in noise if e[0] != e[1])
        entries = [*((i, i) for i in range(self.order)), *self.beside]
        rows = [*kept, *(noise[e] for e in entries)]
        self._rows = np.empty((len(rows), kinds.values.shape[1], sets))
        for row, out in zip(rows, self._rows, strict=True):
            out[...] = row
        self.start = np.zeros((self.order, self.order, kinds.of_step.shape[1], sets))
        """P0, the covariance of the states at the first fix: (states, states, passes, sets)."""
        for (i, j), value in at_first.items():
            self.start[i, j] = self.start[j, i] = value

    def steps(self) -> Iterator[Step]:
        """The coefficients of the step to each fix from the second on."""
        before = None
        for kinds in self.kind_of[1:]:
            if before is None or not np.array_equal(kinds, before):
                rows = np.take(self._rows, kinds, axis=1)
                n, before = self.order, kinds
                step = Step(rows[:n], rows[n : 2 * n], rows[2 * n :])
            yield step


class Step(NamedTuple):
    """Coefficients of one step, (states, passes, sets): the diagonals of F, ``kept``, and of Q,
    ``noise``, and the entries of Q ``beside`` it in the order of `StateSpace.beside`."""

    kept: Array
    noise: Array
    beside: Array


def along_states(batch: Batch, values: Array, *, doppler: bool = False) -> StateSpace:
    """The states along the passes: g, the position error, with Doppler the error of the speed.

    All but g are stationary; g counts from the first fix.
    """
    p = named(values)
    lapse, clock, near_stop, speed = (k[:, None] for k in batch.along.values)
    driven = IntegratedGaussMarkov((p["drive"] * speed) ** 2, p["drive_s"])
    noise = driven.process_noise(clock)
    noise[0, 0] = noise[0, 0] + near_stop
    nominal = batch.nominal_m_s[:, None]
    start = IntegratedGaussMarkov((p["drive"] * nominal) ** 2, p["drive_s"]).start()
    errors = _blocks(POSITION_ERROR, p, lapse)
    blocks = [(driven.transition(clock), noise, start), *errors]
    positions = sum(len(b[0]) for b in blocks)
    if doppler:
        blocks += _blocks((SPEED_ERROR,), p, lapse)
    return StateSpace(blocks, batch.along, values.shape[1], positions)


def across_states(batch: Batch, values: Array) -> StateSpace:
    """The states across the passes: the weave and the position error."""
    blocks = _blocks(
        (WEAVE_PROCESS, *POSITION_ERROR), named(values), batch.across.values[0][:, None]
    )
    return StateSpace(blocks, batch.across, values.shape[1], sum(len(b[0]) for b in blocks))


def _blocks(components: Sequence[Component], p: dict[str, Array], lapse_s: Array) -> list[Block]:
    return [
        (c.transition(p, lapse_s), c.process_noise(p, lapse_s), c.stationary(p)) for c in components
    ]


def _block_diagonal(blocks: Sequence[tuple[int, Entries]]) -> Entries:
    """Matrices put beside one another on the diagonal, each with its size."""
    out: Entries = {}
    at = 0
    for order, entries in blocks:
        out |= {(at + i, at + j): value for (i, j), value in entries.items()}
        at += order
    return out
