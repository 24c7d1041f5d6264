"""What each fix weighs in the ground covered, and which runs of fixes were shifted as a block.

Multipath shifts all fixes of some seconds by the same few metres; such blocks are set aside.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..measured import Measured
from .filter import Filtered, covered, run_filter, timeline
from .noise import PARAMETERS
from .posterior import nearly_flat
from .stretch import Stretch

Array = NDArray[np.float64]

THRESHOLD = 24.0
"""Likelihood ratio (2·Δlog L, both axes) at which a block counts as shifted."""
LONGEST_S = 12.0
MOST_BLOCKS = 8
PROBED_TOGETHER = 8


@dataclass(frozen=True, slots=True, eq=False)
class Probe:
    """How one pass answers to every fix, at one set of parameters.

    ``weight`` (fixes,) is ∂D/∂z: what the ground covered gains per metre of a fix along the axis;
    ``time_s`` (fixes,) are the instants of those fixes; ``grams`` the whitened Gram matrices along
    and across of [data, step at each fix], regressors taken out; ``sagitta`` is the bow of the
    line over the ground between the marks, m. ``innovations`` (fixes, 2) are the standardised
    one-step prediction errors along and across: white, variance near 1, where the model is right.
    """

    weight: Array
    time_s: Array
    grams: tuple[Array, Array]
    sagitta: Measured
    innovations: Array


def probe(stretches: Sequence[Stretch], parameters: Array, *, doppler: bool) -> list[Probe]:
    """Send a step at every used fix of every pass through the filter.

    ``parameters`` (parameters,) is one set of them.
    """
    probes: list[Probe] = []
    for i in range(0, len(stretches), PROBED_TOGETHER):
        probes += _probe(stretches[i : i + PROBED_TOGETHER], parameters, doppler=doppler)
    return probes


def _probe(stretches: Sequence[Stretch], parameters: Array, *, doppler: bool) -> list[Probe]:
    line = timeline(stretches, doppler=doppler)
    passes = len(stretches)
    fixes = [np.flatnonzero(line.seen[:, p]) for p in range(passes)]
    step = np.zeros((*line.seen.shape, max(map(len, fixes))))
    for p, fix in enumerate(fixes):
        step[:, p, : len(fix)] = np.arange(len(line.seen))[:, None] >= fix[None, :]
    values = parameters[:, None]
    filtered = run_filter(line, values, doppler=doppler, extra=step)
    under_way = covered(line, values[PARAMETERS.index("ramp_s")])[:, 0]
    probes = []
    for p, stretch in enumerate(stretches):
        n = len(fixes[p])
        along = filtered.gram[: 4 + n, : 4 + n, p, 0]
        across = filtered.gram[: 4 + n, : 4 + n, passes + p, 0]
        travel = filtered.travel[: 4 + n, p, 0]
        reach = np.array([-travel[1], under_way[p] - travel[2]])
        answer = travel[4:] + reach @ np.linalg.solve(nearly_flat(along[1:3, 1:3]), along[1:3, 4:])
        square = nearly_flat(across[1:4, 1:4])
        bend = np.linalg.solve(square, np.column_stack([across[1:4, 0], [0.0, 0.0, 1.0]]))[2]
        # y = b·(M/T)² rises b·(ΔM/T)²/4 over the chord between the marks
        rise = (under_way[p] / line.span_s[p]) ** 2 / 4
        probes.append(
            Probe(
                weight=np.asarray(answer - np.append(answer[1:], 0.0)),
                time_s=stretch.time_s[stretch.used],
                innovations=_innovations(filtered, fixes[p], p, passes),
                grams=(_projected(along, 2), _projected(across, 3)),
                sagitta=Measured(float(bend[0] * rise), float(np.sqrt(max(bend[1], 0.0)) * rise)),
            )
        )
    return probes


def _innovations(filtered: Filtered, fix: NDArray[np.int64], p: int, passes: int) -> Array:
    """Standardised prediction errors of the data less their fitted regressors. (fixes, 2)"""
    assert filtered.whitened is not None
    columns = []
    for axis, fitted in ((p, 2), (passes + p, 3)):
        data, *regressors = filtered.whitened[fix, : 1 + fitted, axis, 0].T
        design = np.stack(regressors, axis=1)
        fit, *_ = np.linalg.lstsq(design, data, rcond=None)
        columns.append(data - design @ fit)
    return np.stack(columns, axis=1)


def shifted_fixes(probe: Probe, threshold: float = THRESHOLD) -> NDArray[np.bool_]:
    """Which of the probed fixes lie in blocks that were shifted together. (fixes,)

    A block from fix a up to the one before b, moved by an unknown offset, adds a step at a minus
    one at b. The Gram matrices give the likelihood ratio of every block; the greatest one is
    taken, if it passes the threshold, and the search goes on with that block explained.
    """
    n = len(probe.time_s)
    shifted = np.zeros(n, dtype=bool)
    if n < 8:
        return shifted
    # b = n is a block that lasts to the last fix: a column of zeros stands for "no step back"
    grams = [np.pad(g, (0, 1)) for g in probe.grams]
    when = np.append(probe.time_s, probe.time_s[-1] + 1.0)
    a, b = np.triu_indices(n + 1, 1)
    near = (when[b] - when[a] <= LONGEST_S) & (a > 0)
    a, b = a[near], b[near]
    for _ in range(MOST_BLOCKS):
        ratio = np.zeros(len(a))
        for g in grams:
            pull = g[0, 1 + a] - g[0, 1 + b]
            size = g[1 + a, 1 + a] + g[1 + b, 1 + b] - 2 * g[1 + a, 1 + b]
            ratio += np.where(size > 1e-9, pull**2 / np.maximum(size, 1e-9), 0.0)
        best = int(np.argmax(ratio))
        if ratio[best] < threshold:
            break
        shifted[a[best] : b[best]] = True
        grams = [_explained(g, 1 + a[best], 1 + b[best]) for g in grams]
    if (~shifted).sum() < max(4, n // 3):
        shifted[:] = False
    return shifted


def set_aside(stretch: Stretch, shifted: NDArray[np.bool_]) -> Stretch:
    """The stretch without the shifted ones among its used fixes."""
    used = stretch.used.copy()
    used[np.flatnonzero(used)[shifted]] = False
    return replace(stretch, used=used)


def _projected(gram: Array, fitted: int) -> Array:
    """[data, steps…] of a Gram matrix with its first ``fitted`` regressors taken out."""
    keep = np.r_[0, 4 : gram.shape[0]]
    r = nearly_flat(gram[1 : 1 + fitted, 1 : 1 + fitted])
    c = gram[1 : 1 + fitted][:, keep]
    return np.asarray(gram[np.ix_(keep, keep)] - c.T @ np.linalg.solve(r, c))


def _explained(gram: Array, a: int, b: int) -> Array:
    """Take the block column a − b out of all columns."""
    block = gram[a] - gram[b]
    size = block[a] - block[b]
    return np.asarray(gram - np.outer(block, block) / size)
