"""What came up of the seeds, and how evenly the plants stand."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.counts import StandCount
from ..core.crops import germination_from_test
from ..core.measured import Measured
from ..core.notices import Notice
from ..io import read_spacings, read_stands
from ..io.files import FileInput
from ..io.sheets.stands import Stands
from ..io.timestamps import DateOrder
from ..seeding import Emergence, SpacingIndices, doubtful_stands, emergence, spacing_indices
from ..seeding.credible_counts import AS_TYPED, LEFT_OUT


@dataclass(frozen=True, slots=True, kw_only=True)
class StandsRequest:
    """A sheet of stand counts.

    ``seeds_per_m`` are the seeds dropped per metre of line, for counts that do not say themselves;
    ``germination`` is the share of them that can germinate, found on so many seeds tested.
    ``date_order`` is that of dates with slashes; ``as_typed`` keeps counts that cannot be true.
    """

    stands: FileInput
    seeds_per_m: Measured | None = None
    germination: float = 1.0
    germination_tested: float | None = None
    date_order: DateOrder | None = None
    as_typed: bool = False


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
    found, notices = [], stands.notices
    for crop, lot in stands.lots:
        counts, said = credible_stands(stands, crop, lot, as_typed=request.as_typed)
        found.append(emergence(counts, germination=germination, seeds_per_m=request.seeds_per_m))
        notices += said
    return tuple(found), notices


def credible_stands(
    stands: Stands, crop: str, seed_lot: str, *, as_typed: bool = False
) -> tuple[tuple[StandCount, ...], tuple[Notice, ...]]:
    """The counts of a crop and lot that can be true, and a question about each of the others."""
    counts = stands.of(crop, seed_lot)
    doubtful = doubtful_stands(counts)
    done = AS_TYPED if as_typed else LEFT_OUT
    said = tuple(one.notice(stands.file.name, done) for one in doubtful.values())
    kept = tuple(count for at, count in enumerate(counts) if as_typed or at not in doubtful)
    return kept or counts, said


def spacing_for(request: SpacingRequest) -> SpacingIndices:
    """The indices of ISO 7256-1.

    Raises
    ------
    InputError : the sheet cannot be used.
    """
    return spacing_indices(read_spacings(request.spacings), request.wanted_m)
