"""What came up of the seeds, and how evenly the plants stand."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.crops import germination_from_test
from ..core.measured import Measured
from ..core.notices import Notice
from ..io import read_spacings, read_stands
from ..io.files import FileInput
from ..io.timestamps import DateOrder
from ..seeding import Emergence, SpacingIndices, emergence, spacing_indices


@dataclass(frozen=True, slots=True, kw_only=True)
class StandsRequest:
    """A sheet of stand counts.

    ``seeds_per_m`` are the seeds dropped per metre of line, for counts that do not say themselves;
    ``germination`` is the share of them that can germinate, found on so many seeds tested.
    ``date_order`` is that of dates with slashes.
    """

    stands: FileInput
    seeds_per_m: Measured | None = None
    germination: float = 1.0
    germination_tested: float | None = None
    date_order: DateOrder | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SpacingRequest:
    """A sheet of distances from plant to plant, and the one that the seeder was set for."""

    spacings: FileInput
    wanted_m: float


def emergence_for(request: StandsRequest) -> tuple[tuple[Emergence, ...], tuple[Notice, ...]]:
    """Field emergence of each crop and seed lot, and what was noticed of the sheet.

    Raises
    ------
    InputError : the sheet cannot be used, or seeds dropped are not known.
    """
    germination = germination_from_test(request.germination, request.germination_tested)
    stands = read_stands(request.stands, date_order=request.date_order)
    found = tuple(
        emergence(stands.of(crop, lot), germination=germination, seeds_per_m=request.seeds_per_m)
        for crop, lot in stands.lots
    )
    return found, stands.notices


def spacing_for(request: SpacingRequest) -> SpacingIndices:
    """The indices of ISO 7256-1.

    Raises
    ------
    InputError : the sheet cannot be used.
    """
    return spacing_indices(read_spacings(request.spacings), request.wanted_m)
