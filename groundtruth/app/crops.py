"""The crops to sow: of a sheet, one that is typed in, or those of a measured run."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from ..core.bounds import refuse_outside
from ..core.crops import (
    ALL,
    Crop,
    exact_share,
    germination_from_test,
    plants_per_metre,
    plants_per_metre_from_bed,
    seeds_per_metre_from_rate,
)
from ..core.errors import InputError
from ..core.measured import Measured
from ..core.notices import Notice
from ..io import read_crops, read_stands
from ..io.files import FileInput
from ..seeding import emergence, with_emergence
from .stands import credible_stands


@dataclass(frozen=True, slots=True, kw_only=True)
class CropsRequest:
    """The crops to sow.

    A sheet holds them; or one of ``spacing_m``, ``plants_per_bed_m`` (plants per metre of bed, all
    lines together) and ``rate_kg_m2`` (with ``row_spacing_m``) makes one, called ``name``; or they
    are those of a measured run, with the other figures put in place of the run's. With a sheet or
    a run ``name`` picks one of them. ``stands`` is a sheet of stand counts of earlier sowings,
    whose field emergence is used.

    Raises
    ------
    InputError : a sheet and a typed crop, two ways to say how much is wanted, or seeds per weight
        out of their bounds.
    """

    sheet: FileInput | None = None
    name: str = ""
    spacing_m: float | None = None
    plants_per_bed_m: float | None = None
    rate_kg_m2: float | None = None
    row_spacing_m: float | None = None
    seeds_per_kg: float | None = None
    lines: int | None = None
    germination: float | None = None
    germination_tested: float | None = None
    field_emergence: float | None = None
    accept_per_m: tuple[float, float] | None = None
    depth_m: float | None = None
    stands: FileInput | None = None

    def __post_init__(self) -> None:
        if len(self._wanted) > 1:
            raise InputError(f"give one of {' and '.join(self._wanted)}, not both")
        if self._wanted and self.sheet is not None:
            raise InputError(
                f"the crop sheet says what is wanted; leave out the {self._wanted[0]} or the sheet"
            )
        if self.seeds_per_kg is not None and not self.seeds_per_kg > 0:
            raise InputError(f"seeds per gram is {self.seeds_per_kg / 1000:g}; it must be above 0")
        if self.seeds_per_kg is not None:
            refuse_outside("seeds per gram", self.seeds_per_kg / 1000, "seeds_per_gram")

    @property
    def _wanted(self) -> list[str]:
        """What says how much is wanted, in words."""
        ways = {
            "spacing": self.spacing_m,
            "plants per bed": self.plants_per_bed_m,
            "rate": self.rate_kg_m2,
        }
        return [name for name, value in ways.items() if value is not None]

    @property
    def is_typed(self) -> bool:
        """Whether the request itself makes the crop."""
        return bool(self._wanted)


def crops_for(
    request: CropsRequest, of_run: Sequence[Crop] = ()
) -> tuple[tuple[Crop, ...], tuple[Notice, ...]]:
    """The crops of a request, and what was noticed of its sheets; ``of_run`` are the crops of a
    measured run, where there is one.

    Raises
    ------
    InputError : nothing is wanted, a named crop is not among them, or a figure is out of range.
    """
    notices: tuple[Notice, ...] = ()
    if request.sheet is not None:
        sheet = read_crops(request.sheet)
        crops, notices = _named(request.name, sheet.crops), sheet.notices
    elif request.is_typed:
        crops = (_typed(request),)
    else:
        crops = _named(request.name, [_changed(crop, request) for crop in of_run])
    if not crops:
        raise InputError("nothing is wanted yet; give a spacing or a crop sheet")
    if request.stands is not None:
        shares, said = _emergence_found(request.stands, crops)
        crops, notices = tuple(with_emergence(crops, shares)), notices + said
    return crops, notices


def _named(name: str, crops: Sequence[Crop]) -> tuple[Crop, ...]:
    if not name or not crops:
        return tuple(crops)
    named = tuple(c for c in crops if c.name.casefold() == name.casefold())
    if not named:
        known = ", ".join(dict.fromkeys(c.name for c in crops))
        raise InputError(f"crop {name}: not among the crops wanted ({known})")
    return named


def _typed(request: CropsRequest) -> Crop:
    lines = 1 if request.lines is None else request.lines
    plants_per_m = seeds_per_m = None
    if request.spacing_m is not None:
        plants_per_m = plants_per_metre(request.spacing_m)
    elif request.plants_per_bed_m is not None:
        plants_per_m = plants_per_metre_from_bed(request.plants_per_bed_m, lines)
    elif request.rate_kg_m2 is not None:
        if request.row_spacing_m is None or request.seeds_per_kg is None:
            raise InputError("a rate needs the row spacing and the seeds per gram too")
        seeds_per_m = seeds_per_metre_from_rate(
            request.rate_kg_m2, request.seeds_per_kg, request.row_spacing_m
        )
    return _changed(Crop(name=request.name, plants_per_m=plants_per_m, seeds_per_m=seeds_per_m),
                    request)  # fmt: skip


def _changed(crop: Crop, request: CropsRequest) -> Crop:
    """A crop with the figures of the request in place of its own, where they are given."""
    germination, field_emergence = crop.germination, crop.field_emergence
    if request.germination is not None or request.germination_tested:
        share = germination.value if request.germination is None else request.germination
        germination = germination_from_test(share, request.germination_tested)
    if request.field_emergence is not None:
        field_emergence = exact_share("field_emergence", request.field_emergence)
    return replace(
        crop,
        germination=germination,
        field_emergence=field_emergence,
        accept=request.accept_per_m or crop.accept,
        lines=crop.lines if request.lines is None else request.lines,
        seeds_per_kg=Measured(request.seeds_per_kg) if request.seeds_per_kg else crop.seeds_per_kg,
        depth_m=crop.depth_m if request.depth_m is None else request.depth_m,
    )


def _emergence_found(
    sheet: FileInput, crops: Sequence[Crop]
) -> tuple[Mapping[tuple[str, str], Measured], tuple[Notice, ...]]:
    """Field emergence by crop and lot from the stand counts, 1 at most; and which were left out."""
    stands = read_stands(sheet)
    found, notices = {}, stands.notices
    for name, lot in stands.lots:
        germination = next(
            (c.germination for c in crops if c.name.casefold() == name.casefold()), ALL
        )
        counts, said = credible_stands(stands, name, lot)
        notices += said
        share = emergence(counts, germination=germination).field_emergence
        found[name.casefold(), lot.casefold()] = Measured(min(share.value, 1.0), share.std)
    return found, notices
