"""Errors of real phones beside a reference, read from a folder that is no part of the project.

A folder holds one `.npz` file a piece: ``t`` (n,) s from its start, ``east``, ``north``, ``height``
(n,) phone less reference in m, ``speed`` (n,) of the carrier in m/s, ``stale`` (n,) where the fix
is one second late, and the texts ``device`` and ``drive``. Pieces of one drive share their sky and
often their minutes, so they are never parted between the halves, and intervals of what was measured
come from drawing drives, not pieces.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

HALVES = ("tune", "judge")
STANDS_M_S = 0.1
"""Below this speed the carrier stands."""
HELD_M = 0.005
"""A place that changes by less while the carrier stands is held; the rest is the reference's."""
LEAST_STANDING_S = 30.0
"""By regime a piece needs so much standing, s."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Series:
    """One piece. Arrays of shape (n,), ``standing`` and ``stale`` bool."""

    name: str
    device: str
    drive: str
    half: str
    time_s: Array
    east_m: Array
    north_m: Array
    height_m: Array
    standing: NDArray[np.bool_]
    stale: NDArray[np.bool_]

    @property
    def duration_s(self) -> float:
        """From the first to the last fix."""
        return float(self.time_s[-1] - self.time_s[0])

    @property
    def stood_s(self) -> float:
        """Seconds of standing."""
        return float(np.diff(self.time_s)[self._steps_standing].sum())

    @property
    def _steps_standing(self) -> NDArray[np.bool_]:
        return np.asarray(self.standing[1:] & self.standing[:-1])

    @property
    def by_regime(self) -> bool:
        """Whether it stood long enough to be taken apart."""
        return self.stood_s >= LEAST_STANDING_S


def read_series(folder: Path) -> list[Series]:
    """All pieces of a folder, by name; drives in order of their names fall to the two halves in
    turn."""
    files = sorted(folder.glob("*.npz"))
    if not files:
        raise SystemExit(f"{folder}: no .npz file there")
    raw = []
    for file in files:
        with np.load(file) as piece:
            raw.append((file.stem, {k: piece[k] for k in piece.files}))
    drives = sorted({str(piece["drive"]) for _, piece in raw})
    return [
        Series(
            name=name,
            device=str(piece["device"]),
            drive=str(piece["drive"]),
            half=HALVES[drives.index(str(piece["drive"])) % 2],
            time_s=piece["t"].astype(float) - float(piece["t"][0]),
            east_m=piece["east"].astype(float),
            north_m=piece["north"].astype(float),
            height_m=piece["height"].astype(float),
            standing=piece["speed"] < STANDS_M_S,
            stale=piece["stale"].astype(bool),
        )
        for name, piece in raw
    ]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Errors:
    """Errors laid over a motion: instants from its beginning and errors of each fix, (n,)."""

    time_s: Array
    east_m: Array
    north_m: Array
    height_m: Array
    stale: NDArray[np.bool_]


def as_recorded(series: Series, duration_s: float, from_share: float) -> Errors:
    """A part of the piece as it is; ``from_share`` of what is too much is left out before it."""
    begin = np.ceil(from_share * max(series.duration_s - duration_s, 0.0))
    part = (series.time_s >= begin) & (series.time_s <= begin + duration_s)
    return Errors(
        time_s=series.time_s[part] - begin,
        east_m=series.east_m[part],
        north_m=series.north_m[part],
        height_m=series.height_m[part],
        stale=series.stale[part],
    )


def by_regime(series: Series, stands: Sequence[tuple[float, float]], duration_s: float) -> Errors:
    """Steps recorded while the carrier moved put together while the tractor moves, those recorded
    standing while it stands (``stands``, s from its beginning); each kind in its own order, and
    anew from its beginning once it is used up."""
    values = np.stack([series.east_m, series.north_m, series.height_m], axis=1)
    step_s, step = np.diff(series.time_s), np.diff(values, axis=0)
    standing = series._steps_standing
    held = standing & (np.hypot(step[:, 0], step[:, 1]) < HELD_M)
    step[held] = 0.0
    which = {kind: np.flatnonzero(standing == kind) for kind in (False, True)}
    taken = {False: 0, True: 0}
    time_s, at = [0.0], [values[0]]
    stale = [False]
    while True:
        stood = any(a <= time_s[-1] < b for a, b in stands)
        k = which[stood][taken[stood] % len(which[stood])]
        taken[stood] += 1
        if time_s[-1] + step_s[k] > duration_s:
            break
        time_s.append(time_s[-1] + float(step_s[k]))
        at.append(at[-1] + step[k])
        stale.append(bool(series.stale[k + 1]))
    east, north, height = np.array(at).T
    return Errors(
        time_s=np.array(time_s),
        east_m=east,
        north_m=north,
        height_m=height,
        stale=np.array(stale),
    )
