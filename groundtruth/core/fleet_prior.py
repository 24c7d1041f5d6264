"""What many runs teach before a run is measured, and what comes of it for the run."""

from __future__ import annotations

from dataclasses import dataclass

from .errors import InputError
from .measured import Measured

SPREAD_SCALES = (0.001, 0.2)
SHARES = {
    "mean": (-0.5, 0.5),
    "std": (0.002, 0.2),
    "odd_share": (0.02, 0.9),
    "odd_std": (0.01, 1.0),
}
"""Bounds of the figures of a prior. Our choice: beyond them no fleet of seeders lies."""
LEAST_ODD_RATIO = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class MachinePrior:
    """How far machines are off: the logarithm of ground per turn over the figure in use.

    Most are normal about ``mean`` with ``std``; a share ``odd_share`` is odd, about the same mean
    with the far greater ``odd_std``.

    Raises
    ------
    InputError : a figure is out of its bounds, or odd machines are hardly odder than others.
    """

    mean: float
    std: float
    odd_share: float
    odd_std: float

    def __post_init__(self) -> None:
        for name, (least, most) in SHARES.items():
            _within(name, getattr(self, name), least, most)
        if self.odd_std < LEAST_ODD_RATIO * self.std:
            raise InputError(
                f"odd_std is {self.odd_std:g}; it must be at least {LEAST_ODD_RATIO:g} times std",
                column="odd_std",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class FleetPrior:
    """What a fleet teaches: the scale of the half-t prior of the relative spread between passes,
    and how far machines are off, None where the fleet is too small to tell.

    ``runs`` and ``seeders`` are what it was learnt from, ``name`` that of the file.

    Raises
    ------
    InputError : a figure is out of its bounds.
    """

    spread_scale: float
    machines: MachinePrior | None = None
    runs: int = 0
    seeders: int = 0
    name: str = ""

    def __post_init__(self) -> None:
        _within("spread_scale", self.spread_scale, *SPREAD_SCALES)


@dataclass(frozen=True, slots=True, kw_only=True)
class FleetFigure:
    """Ground per turn (m) with what the fleet knows of machines, to stand beside the run's own.

    ``odd`` is the probability that this machine is an odd one; ``dropped`` says that it is nearly
    sure, so that the figure is the run's own.
    """

    ground_per_turn: Measured
    ground_per_turn_95: tuple[float, float]
    odd: float
    dropped: bool


def _within(name: str, value: float, least: float, most: float) -> None:
    if not least <= value <= most:
        raise InputError(f"{name} is {value:g}; it must be {least:g} to {most:g}", column=name)
