"""From the length along a pass's axis in the plane to ground under the wheel.

The plane lies on the ellipsoid and the axis is straight; the wheel runs at the field's height, up
and down its slope, along a slight bow and with a weave. Each effect multiplies the length:

    height      1 + h/R                          see `plane.height_factor`
    slope       √(1 + g²)                         g rise per metre along the pass
    bow         1 + 8·σ²/(3·L²)                   σ sagitta, L length (arc of a flat circle)
    weave       1.00015 ± 0.00025                 5-10 cm over 10-30 m; (π·A/λ)² for a sine wave
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.measured import Measured
from .priors import PHONE, SURVEY

Array = NDArray[np.float64]

WEAVE = Measured(1.00015, 0.00025)
"""Extra length by weaving: mean of (πA/λ)² over the stated ranges (common practice, no source)."""
UNKNOWN_SLOPE = Measured(1.0, 0.0003)
"""Where no heights are recorded: slopes up to 3 % cannot be ruled out, 0.03²/2 = 0.00045."""
MOST_BOW = 0.1
"""No pass bows by more than this share of its length, where its fixes cannot tell (judgement)."""
SINUOSITY_LEG_M = 1.0
SINUOSITY_NOISE_M = 0.003
"""Noise from one place to the next of a centimetre receiver, blocks of about a second averaged."""
HEIGHT_DRIFT_M = {PHONE.name: 4.0, SURVEY.name: 0.05}
"""Drift of recorded heights over one pass, standard deviation, m, by kind of receiver: vertical
positions err about twice as much as horizontal ones."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeightLine:
    """Heights along one pass: regression of height on the place along it.

    ``slope`` is the rise per metre in the direction of travel, ``axis_deg`` that direction.
    """

    slope: float
    length_m: float
    axis_deg: float
    mean_height_m: float


def height_line(along_m: Array, height_m: Array, axis_deg: float) -> HeightLine | None:
    """Fit the heights of one pass; None where fewer than four fixes carry a height."""
    known = np.isfinite(height_m)
    if known.sum() < 4 or np.ptp(along_m[known]) < 5.0:
        return None
    along, height = along_m[known], height_m[known]
    centred = along - along.mean()
    return HeightLine(
        slope=float(centred @ height / (centred @ centred)),
        length_m=float(np.ptp(along)),
        axis_deg=axis_deg,
        mean_height_m=float(height.mean()),
    )


def slope_factors(
    lines: Sequence[HeightLine | None], receiver: str = PHONE.name
) -> tuple[Measured, ...]:
    """√(1 + g²) for each pass, the slope averaged over passes that run along the same line. [-]

    Heights of one pass drift by metres, which looks like a slope; passes of one block share the
    slope of the ground but not the drift, so their mean is used and its scatter gives the doubt.
    E[ĝ²] = g² + var(ĝ), so the variance is taken off. ``receiver`` as in `DayTravel`.
    """
    known = [(other.slope, other.axis_deg, other.length_m) for other in lines if other is not None]
    slope, axis_deg, length_m = np.array(known).reshape(-1, 3).T
    factors = []
    for line in lines:
        if line is None:
            factors.append(UNKNOWN_SLOPE)
            continue
        turn = np.cos(np.radians(axis_deg - line.axis_deg))
        along = np.abs(turn) > 0.97
        signed = (slope * np.sign(turn))[along]
        drift = HEIGHT_DRIFT_M[receiver] / length_m[along]
        mean = float(np.mean(signed))
        if len(signed) >= 4:
            std = float(np.std(signed, ddof=1) / np.sqrt(len(signed)))
        else:
            std = float(np.sqrt(np.mean(np.square(drift)) / len(signed)))
        square = max(0.0, mean**2 - std**2)
        factor = float(np.sqrt(1 + square))
        # d√(1+g²) ≈ g·dg, and for a slope lost in the drift the second-order term dg²/2
        factors.append(Measured(factor, float(np.hypot(abs(mean) * std, std**2 / 2))))
    return tuple(factors)


def measured_sinuosity(along_m: Array, across_m: Array) -> Measured:
    """Length of the driven line over its axis, from positions good to centimetres. [-]

    Legs of at least a metre between the places: their lengths against their shares along the axis,
    √(1 + (dy/dx)²) ≈ 1 + (dy/dx)²/2, give bow and weave together. What noise adds to the legs is
    taken off; what the legs cut of a short weave stays as doubt. Too few places for four legs tell
    nothing: then the usual weave.
    """
    if len(along_m) < 5:
        return WEAVE
    step = float(np.median(np.abs(np.diff(along_m))))
    leg = max(1, round(SINUOSITY_LEG_M / max(step, 1e-6)))
    run, rise = np.diff(along_m[::leg]), np.diff(across_m[::leg])
    if len(run) < 4 or run.sum() <= 0:
        return WEAVE
    run_m = np.maximum(np.abs(run), 0.1)
    square = float((rise**2 / run_m).sum() / 2 / run.sum())
    by_noise = float((2 * SINUOSITY_NOISE_M**2 / run_m).sum() / 2 / run.sum())
    return Measured(1 + max(square - by_noise, 0.0), 0.5 * by_noise + 0.08 * square + 5e-6)


def bow_factor(sagitta: Measured, length_m: float) -> Measured:
    """Length of a flat arc over its chord from the sagitta and its uncertainty (m). [-]

    1 + 8σ²/(3L²), the first term of the arc's series; σ² is freed of the noise that σ carries.
    Where the fixes leave the sagitta open, as with none on the way, it is one of a straight pass.
    """
    most = MOST_BOW * abs(length_m)
    if sagitta.std > most:
        sagitta = Measured(0.0, most)
    square = max(0.0, sagitta.value**2 - sagitta.std**2)
    spread = np.hypot(2 * sagitta.value * sagitta.std, np.sqrt(2) * sagitta.std**2)
    scale = 8 / (3 * length_m**2)
    return Measured(1 + scale * square, scale * float(spread))
