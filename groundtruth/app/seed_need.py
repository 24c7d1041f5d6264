"""How much seed some beds need, and whether the bag holds enough."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.beds import Bed
from ..core.crops import Crop
from ..core.errors import InputError
from ..core.notices import Notice
from ..core.result import Result
from ..io import read_bed_lengths, read_bench
from ..io.files import FileInput
from ..seeding import GroundFigure, SeedNeed, beds_of, choose, seed_needed
from .crops import CropsRequest, crops_for
from .seeding import curve_of


@dataclass(frozen=True, slots=True, kw_only=True)
class SeedNeedRequest:
    """Crops and the beds for them: their lengths, a bed sheet, or the passes of a measured run.

    With bench counts and a ground per turn the seed is that which the chosen setting drops,
    otherwise that which is wanted. ``loss`` is the share that is spilled or sown on headlands.

    Raises
    ------
    InputError : the beds are not named one way, or bench counts stand without a ground per turn.
    """

    crops: CropsRequest
    lengths_m: tuple[float, ...] = ()
    bed_sheet: FileInput | None = None
    run: Result | None = None
    ground: GroundFigure | None = None
    loss: float = 0.0
    left_in_hopper_kg: float = 0.0
    in_bag_kg: float | None = None
    bench: FileInput | None = None
    settings: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        ways = (bool(self.lengths_m), self.bed_sheet is not None, self.run is not None)
        if sum(ways) != 1:
            raise InputError("name the beds one way: lengths, a bed sheet, or those of a run")
        if self.bench is not None and self.ground is None:
            raise InputError("bench counts need the ground per turn too")


@dataclass(frozen=True, slots=True, kw_only=True)
class CropNeed:
    """The seed that one crop needs."""

    crop: Crop
    need: SeedNeed


def seed_needs_for(request: SeedNeedRequest) -> tuple[tuple[CropNeed, ...], tuple[Notice, ...]]:
    """The seed for each crop of the request, and what was noticed of its sheets.

    Raises
    ------
    InputError : a file or figure cannot be used, a crop has no bed, or a bag is given for several
        crops.
    """
    ground = request.ground
    crops, notices = crops_for(request.crops, ground.crops if ground else ())
    if request.in_bag_kg is not None and len(crops) > 1:
        raise InputError("the bag of which crop? Name one crop, or leave out what is in the bag")
    bench = None if request.bench is None else read_bench(request.bench)
    notices += bench.notices if bench else ()
    needs = []
    for crop in crops:
        seeds_per_m = crop.seeds_wanted_per_m
        if bench and ground:
            curve, said = curve_of(bench, crop, request.settings or ground.settings)
            notices += tuple(one for one in said if one not in notices)
            seeds_per_m = choose(crop, ground.ground_per_turn, curve).option.seeds_per_m
        need = seed_needed(
            _beds(request, crop),
            seeds_per_m,
            seeds_per_kg=crop.seeds_per_kg,
            loss=request.loss,
            left_in_hopper_kg=request.left_in_hopper_kg,
            in_bag_kg=request.in_bag_kg,
        )
        needs.append(CropNeed(crop=crop, need=need))
    return tuple(needs), notices


def _beds(request: SeedNeedRequest, crop: Crop) -> tuple[Bed, ...]:
    if request.bed_sheet is not None:
        beds = read_bed_lengths(request.bed_sheet, crop=crop.name, lines=crop.lines)
    elif request.run is not None:
        lines = crop.lines if crop.lines > 1 else None
        beds = beds_of(request.run, crop=crop.name, lines=lines)
    else:
        beds = tuple(
            Bed(name=str(i), length_m=length_m, lines=crop.lines)
            for i, length_m in enumerate(request.lengths_m, start=1)
        )
    if not beds:
        raise InputError(f"no bed of {crop.name} among those given")
    return beds
