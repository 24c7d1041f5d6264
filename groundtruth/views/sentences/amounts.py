"""Crops, probabilities, densities and spacings in a few words, as sentences and tables use them."""

from __future__ import annotations

from ...core.display import ground_scale, span
from ...core.language import decimals, say
from ...core.measured import K95, Measured
from ...core.run import UnitSystem
from ...core.safe_text import visible
from ...core.units import FOOT, decimals_for, unit_factor


def crop_name(crop: str, seed_lot: str) -> str:
    """ "beet, lot B-24"."""
    name = visible(crop, 40) or say("seed")
    if not seed_lot:
        return name
    return say("{crop}, lot {lot}", crop=name, lot=visible(seed_lot, 30))


def per_length(units: UnitSystem) -> tuple[float, str]:
    """Length over which plants are counted, in m, and its name: 1 m or 1 ft."""
    return (FOOT.value, "ft") if units == "us" else (1.0, "m")


def probability(share: float) -> str:
    """A probability as a person says it: "83 %", "under 1 %", "over 99 %"."""
    if share < 0.01:
        return say("under 1 %")
    if share > 0.99:
        return say("over 99 %")
    return f"{100 * share:.0f} %"


def stand_range(ends: tuple[float, float], units: UnitSystem) -> str:
    """ "20 to 28 per m"."""
    length, name = per_length(units)
    ends_shown = span(_countable(ends[0] * length), _countable(ends[1] * length))
    return say("{range} per {length}", range=ends_shown, length=name)


def density(per_m: float, units: UnitSystem, *, seeds: bool) -> str:
    """ "24 plants per m", or seeds, as fine as a person counts."""
    length, name = per_length(units)
    number = _countable(per_m * length)
    if seeds:
        return say("{number} seeds per {length}", number=number, length=name)
    return say("{number} plants per {length}", number=number, length=name)


def spacing_in_bed(per_m: float, units: UnitSystem) -> str:
    """ "one every 4.2 cm", as fine as a person can see in a bed."""
    unit = ground_scale(units).unit
    size = 1 / per_m / unit_factor(unit)
    return say("one every {size}", size=f"{decimals(f'{size:.{1 if size < 10 else 0}f}')} {unit}")


def places_of(measured: Measured) -> int:
    """Decimals for a figure beside this one."""
    return max(0, decimals_for(K95 * measured.std)) if measured.std else 1


def _countable(value: float) -> str:
    text = f"{value:.{1 if value < 20 else 0}f}"
    return decimals(text.removesuffix(".0"))
