"""Seed needed for a list of beds, and whether the bag holds enough."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log
from statistics import NormalDist

from ..core.beds import Bed
from ..core.bounds import refuse_outside
from ..core.errors import InputError
from ..core.measured import Measured
from ..core.result import Result


@dataclass(frozen=True, slots=True, kw_only=True)
class SeedNeed:
    """Seed for some beds. ``take`` covers the need 95 times in 100, left-overs included.

    Masses in kg, None where the seeds per weight are not known. ``enough`` is the probability
    that ``in_bag_kg`` suffices.
    """

    row_length_m: float
    seeds: Measured
    mass_kg: Measured | None
    take_seeds: float
    take_kg: float | None
    in_bag_kg: float | None
    enough: float | None


def seed_needed(
    beds: Sequence[Bed],
    seeds_per_m: Measured,
    *,
    seeds_per_kg: Measured | None = None,
    loss: float = 0.0,
    left_in_hopper_kg: float = 0.0,
    in_bag_kg: float | None = None,
) -> SeedNeed:
    """Seed for the beds at a number of seeds per metre of line.

    Seeds = Σ(length × lines) × seeds per metre / (1 − loss), and the hoppers' remainder by weight.
    ``loss`` is the share that is spilled or sown on headlands; ``left_in_hopper_kg`` what must lie
    in all hoppers together for the last metre to be sown. Errors of seeds per metre and of seeds
    per weight are independent [JCGM 100:2008, 5.1.2].

    Three lines of 50 m at 25 seeds per metre, 60 seeds a gram:

    >>> beds = [Bed(name="N1", length_m=50, lines=3)]
    >>> need = seed_needed(beds, Measured(25.0), seeds_per_kg=Measured(60_000.0, 3_000.0))
    >>> need.seeds.value, need.mass_kg.value, round(need.take_kg, 4)
    (3750.0, 0.0625, 0.0679)

    Raises
    ------
    InputError : no bed, a figure out of its range, or a weight without seeds per weight.
    """
    if not beds:
        raise InputError("no beds; name their lengths")
    if not seeds_per_m.value > 0:
        raise InputError(f"seeds per metre is {seeds_per_m.value:g}; it must be above 0")
    if not 0 <= loss < 1:
        hint = f"; write {loss / 100:g} for {loss:g} %" if 1 <= loss < 100 else ""
        raise InputError(f"loss is {loss:g}; a share from 0 to below 1{hint}")
    for name, mass in (("seed left in the hopper", left_in_hopper_kg), ("in the bag", in_bag_kg)):
        if mass is not None and not mass >= 0:
            raise InputError(f"{name}: {mass:g} kg; it cannot be below 0")
        if mass is not None:
            refuse_outside(name, mass, "mass")
    refuse_outside("loss", loss, "loss")
    refuse_outside("seeds per metre", seeds_per_m.value, "stand")
    if seeds_per_kg is None and (left_in_hopper_kg or in_bag_kg is not None):
        raise InputError("seeds per gram is missing; weights cannot be turned into seeds")
    length_m = sum(bed.length_m * bed.lines for bed in beds)
    sown = seeds_per_m.scaled(length_m / (1 - loss))
    if seeds_per_kg is None:
        return SeedNeed(
            row_length_m=length_m,
            seeds=sown,
            mass_kg=None,
            take_seeds=_reached(sown, 0.95),
            take_kg=None,
            in_bag_kg=None,
            enough=None,
        )
    sown_kg = sown.per(seeds_per_kg)
    left_seeds = left_in_hopper_kg * seeds_per_kg.value
    return SeedNeed(
        row_length_m=length_m,
        seeds=Measured(sown.value + left_seeds, sown.std),
        mass_kg=Measured(sown_kg.value + left_in_hopper_kg, sown_kg.std),
        take_seeds=_reached(sown, 0.95) + left_seeds,
        take_kg=_reached(sown_kg, 0.95) + left_in_hopper_kg,
        in_bag_kg=in_bag_kg,
        enough=None if in_bag_kg is None else _chance(sown_kg, in_bag_kg - left_in_hopper_kg),
    )


def _reached(need: Measured, level: float) -> float:
    """What covers a need with a probability. Products and quotients of positive quantities are
    nearer to log-normal than to normal."""
    return need.value * exp(NormalDist().inv_cdf(level) * need.relative)


def _chance(need: Measured, at_hand: float) -> float:
    """Probability that what is at hand covers a log-normal need. [-]"""
    if at_hand <= 0 or need.std == 0:
        return float(need.value <= at_hand)
    return NormalDist().cdf(log(at_hand / need.value) / need.relative)


def beds_of(result: Result, *, crop: str = "", lines: int | None = None) -> tuple[Bed, ...]:
    """The passes of a measured run as beds to sow again; of one crop where the sheet names it.

    ``lines`` is what the machine sows in one pass: the number of row units where left out.
    """
    per_pass = lines or result.seeder.row_units or 1
    beds = {
        p.number: Bed(name=p.bed or f"pass {p.number}", length_m=p.distance.value, lines=per_pass)
        for p in result.passes
        if not (crop and p.crop) or p.crop.casefold() == crop.casefold()
    }
    return tuple(beds.values())
