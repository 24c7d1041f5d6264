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

h adds up the states `StateSpace.position_states`. This module and the priors of the parameters are
all that says what the model is; the filter, the influence of the fixes and the plan follow from it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from .batch import NEAR_STOP_SHARE, Batch
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
    """F, Q and P0 of the states and R of the positions, for all steps, passes and sets.

    The states are, along the pass, g and its speed, across it the weave and nothing; then those
    of the position error; with Doppler, that of the speed. F is block diagonal and mostly 0, so
    only its diagonal and the entries ``transitions`` beside it are kept; of Q the diagonal and the
    entries ``noises`` above it. ``position_states`` add up to the position, ``speed_states`` to the
    speed. ``kind_of`` (steps, axes) tells which kind of step leads to a fix, and every
    coefficient is kept by kind and set.
    """

    def __init__(self, batch: Batch, values: Array, *, doppler: bool = False) -> None:
        self.batch, self.values, self.doppler = batch, values, doppler
        p = named(values)
        errors = [*POSITION_ERROR, SPEED_ERROR] if doppler else [*POSITION_ERROR]
        lapse, clock, near_stop, speed, along = (k[:, None] for k in batch.kinds)
        driven = IntegratedGaussMarkov(along * (p["drive"] * speed) ** 2, p["drive_s"])
        f, q = driven.transition(clock), driven.process_noise(clock)
        f[0, 0] = np.where(along > 0, f[0, 0], WEAVE_PROCESS.transition(p, lapse)[0, 0])
        f[0, 1] = along * f[0, 1]
        weave = WEAVE_PROCESS.process_noise(p, lapse)[0, 0]
        q[0, 0] = np.where(along > 0, q[0, 0] + near_stop, weave)
        fs = [(f, 2), *((c.transition(p, lapse), c.order) for c in errors)]
        qs = [(q, 2), *((c.process_noise(p, lapse), c.order) for c in errors)]
        transition, noise = _block_diagonal(fs), _block_diagonal(qs)
        self.order = sum(order for _, order in fs)
        firsts = np.cumsum([0] + [order for _, order in fs])[:-1].tolist()
        self.position_states = tuple(firsts[: 1 + len(POSITION_ERROR)])
        self.speed_states = (1, firsts[-1])
        self.transitions = tuple(e for e in transition if e[0] != e[1])
        self.noises = tuple(e for e in noise if e[0] != e[1])
        self.kind_of = batch.kind_of
        diagonal = [(i, i) for i in range(self.order)]
        rows = [transition[e] for e in (*diagonal, *self.transitions)]
        rows += [noise[e] for e in (*diagonal, *self.noises)]
        self._rows = np.empty((len(rows), batch.kinds.shape[1], values.shape[1]))
        for row, out in zip(rows, self._rows, strict=True):
            out[...] = row

    def steps(self) -> Iterator[Step]:
        """The coefficients of the step to each fix from the second on."""
        before = None
        for kinds in self.kind_of[1:]:
            if before is None or not np.array_equal(kinds, before):
                rows = np.take(self._rows, kinds, axis=1)
                step, before = Step(rows.reshape(len(rows), -1), self), kinds
            yield step

    def start(self) -> Array:
        """P0, the covariance of the states at the first fix: (states, states, axes, sets).

        All but g are stationary; g counts from there.
        """
        batch, p = self.batch, named(self.values)
        passes, axes = batch.step_s.shape[1], batch.kind_of.shape[1]
        cov = np.zeros((self.order, self.order, axes, self.values.shape[1]))
        cov[1, 1, :passes] = (p["drive"] * batch.nominal_m_s[:, None]) ** 2
        cov[0, 0, passes:] = WEAVE_PROCESS.stationary(p)[0, 0]
        for c, at in zip(POSITION_ERROR, self.position_states[1:], strict=True):
            for (i, j), value in c.stationary(p).items():
                cov[at + i, at + j] = cov[at + j, at + i] = value
        if self.doppler:
            at = self.speed_states[1]
            for (i, j), value in SPEED_ERROR.stationary(p).items():
                cov[at + i, at + j, :passes] = cov[at + j, at + i, :passes] = value
        return cov


class Step:
    """Coefficients of one step, each of shape (axes·sets,) or with a leading axis.

    ``diagonal`` of F and its entries ``beside``, in the order of `StateSpace.transitions`;
    ``noise`` the diagonal of Q and ``noise_beside`` its entries `StateSpace.noises`.
    """

    __slots__ = ("beside", "diagonal", "noise", "noise_beside")

    def __init__(self, rows: Array, model: StateSpace) -> None:
        n, beside = model.order, len(model.transitions)
        self.diagonal, self.beside = rows[:n], rows[n : n + beside]
        self.noise, self.noise_beside = rows[n + beside : 2 * n + beside], rows[2 * n + beside :]


def _block_diagonal(blocks: Sequence[tuple[Entries, int]]) -> Entries:
    """Matrices put beside one another on the diagonal, each with its size."""
    out: Entries = {}
    at = 0
    for entries, order in blocks:
        out |= {(at + i, at + j): value for (i, j), value in entries.items()}
        at += order
    return out
