"""Ways to drive and count, compared: how many passes each takes for a margin of error."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from ..core.language import English
from .design import Design
from .forecast import MOST_PASSES, Forecast, Forecaster, taped_forecast
from .phone_kinds import NoiseEnsemble

AS_ASKED = English("as asked")
ONE_WAY = English("one direction only")
INSTANTS = English("lifted on the move, times written")
ROLLING = English("lifted on the move, ends from the track")
STANDING = English("standing at both ends")
LONGER = English("beds twice as long")
TAPE = English("every counted bed taped")


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One way. ``needed`` passes meet the margin, None where MOST_PASSES do not; ``forecast`` is
    for that many, or for the number asked for, or for MOST_PASSES."""

    name: str
    design: Design
    needed: int | None
    forecast: Forecast

    @property
    def minutes(self) -> float:
        """From the first counted pass to the last, in the field."""
        return self.design.duration_s(self.forecast.passes) / 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The ways compared, the one that was asked for first; ``margin`` is the relative half-width
    of the 95 % interval. ``asked`` forecasts the number of passes that was given, if one was."""

    noise: NoiseEnsemble
    margin: float
    ways: tuple[Way, ...]
    asked: Forecast | None

    @property
    def first(self) -> Way:
        """The way that was asked for."""
        return self.ways[0]

    def way(self, name: str) -> Way | None:
        """The way of that name, if it was compared."""
        return next((w for w in self.ways if w.name == name), None)


def make_plan(
    design: Design, noise: NoiseEnsemble, *, margin: float, passes: int | None = None
) -> Plan:
    """The ways to drive and count that come near a design, compared.

    ``margin`` is the half-width of the 95 % interval to be met, relative to the figure.

    Raises
    ------
    InputError : ``passes`` is out of range.
    """
    designs = {AS_ASKED: design}
    if not design.one_way:
        designs[ONE_WAY] = replace(design, one_way=True)
    if design.ends == "stand":
        designs[INSTANTS] = replace(design, ends="instants")
        designs[ROLLING] = replace(design, ends="rolling")
    else:
        designs[STANDING] = replace(design, ends="stand")
    if 2 * design.bed_length_m <= 1000:
        designs[LONGER] = replace(design, bed_length_m=2 * design.bed_length_m)
    ways, asked = [], None
    for name, one in designs.items():
        forecaster = Forecaster(one, noise)
        if name == AS_ASKED and passes is not None:
            asked = forecaster.after(passes)
        ways.append(_way(name, one, forecaster.after, margin))
    ways.append(_way(TAPE, design, lambda n: taped_forecast(design, n), margin))
    return Plan(noise=noise, margin=margin, ways=tuple(ways), asked=asked)


def _way(name: str, design: Design, after: Callable[[int], Forecast], margin: float) -> Way:
    """The least number of passes that meets the margin, by halving."""
    worst = after(MOST_PASSES)
    if worst.half_width > margin:
        return Way(name=name, design=design, needed=None, forecast=worst)
    low, high, best = 0, MOST_PASSES, worst
    while high - low > 1:
        middle = (low + high) // 2
        found = after(middle)
        if found.half_width <= margin:
            high, best = middle, found
        else:
            low = middle
    return Way(name=name, design=design, needed=high, forecast=best)
